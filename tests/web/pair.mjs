// Pairing over TLS, with the certificate that russet made: the QR picture is read off the screen by a reader of its own (jsQR), a second phone
// comes in by it and the six figures, both work on one job, one is sent away, and its cookie opens nothing any more.
// Usage: node pair.mjs ADDRESS, as `russet serve --listen` printed it, on the demo shop.
import {createRequire} from "node:module";
import {broke_off, check, device, finish, launch, screen, settled} from "./kit.mjs";

const address = process.argv[2], origin = new URL(address).origin;
const read_qr = createRequire(new URL("../../web/package.json", import.meta.url))("jsqr");
const browser = await launch();
const button = (page, name) => page.getByRole("button", {name, exact: true});

/** What a camera sees of the picture on the screen. */
const pixels_of = page => page.locator(".qr").evaluate(async image => {
    await image.decode();
    const canvas = document.createElement("canvas"), pen = canvas.getContext("2d");
    canvas.width = canvas.height = 480;
    pen.drawImage(image, 0, 0, 480, 480);
    return [...pen.getImageData(0, 0, 480, 480).data];
});

async function pairing(first) {
    const {page} = first;
    await page.goto(address);
    await page.getByRole("heading", {name: "Jobs"}).waitFor();
    check("the page is served over TLS, with russet's own certificate", new URL(page.url()).protocol === "https:");
    await page.goto(`${origin}/settings`);
    await button(page, "Add a device").click();
    await page.locator(".qr").waitFor();
    await screen(first, "adding a device");
    const code = (await page.locator(".figure").innerText()).replace(/\D/g, ""), seen = read_qr(Uint8ClampedArray.from(await pixels_of(page)), 480, 480);
    check("the QR picture holds the address of this bench", seen?.data === `${origin}/`, seen?.data);
    check("the fingerprint stands beside it", /^([0-9A-F]{2}[: ]?){32}$/i.test((await page.locator(".address").last().innerText()).trim()), await page.locator(".address").last().innerText());
    return {code, seen: seen?.data ?? origin};
}

try {
    const first = await device(browser, 390, 844, "light", {ignoreHTTPSErrors: true}), second = await device(browser, 360, 740, "dark", {ignoreHTTPSErrors: true});
    const {code, seen} = await pairing(first);
    await second.page.goto(seen);
    await second.page.getByLabel("The six figures").fill(`${code.slice(0, 3)} ${code.slice(3)}`);
    await second.page.getByLabel("What this device is called").fill("the other phone");
    await screen(second, "the door over TLS");
    await button(second.page, "Let me in").click();
    await second.page.getByRole("heading", {name: "Jobs"}).waitFor();
    const cookies = await second.context.cookies(), cookie = cookies.find(one => /russet$/.test(one.name));
    check("its cookie is for TLS, for this server and for no script", cookie?.secure && cookie.httpOnly && cookie.sameSite === "Strict", JSON.stringify({...cookie, value: ""}));
    for (const one of [first, second]) {
        await one.page.goto(`${origin}/job/2/look`);
        await settled(one.page);
    }
    const write = async (one, words) => {
        await one.page.getByLabel("In your own words").fill(words);
        await button(one.page, "Look again").or(button(one.page, "Keep what I saw")).or(one.page.locator("form button.main")).first().click();
    };
    await write(second, "from the second phone");
    await second.page.getByText("It is in the book.").waitFor();
    await first.page.getByText("Somebody else has just worked on this job").waitFor();
    check("the first phone is told what the second did", true);
    await write(first, "from the first phone");
    await first.page.getByRole("alert").waitFor();
    check("a look that began before the other's is refused in words", (await first.page.getByRole("alert").innerText()).startsWith("Somebody else"), await first.page.getByRole("alert").innerText());
    check("what was typed is still in its field", await first.page.getByLabel("In your own words").inputValue() === "from the first phone");
    await screen(first, "a look that another phone was first with");
    await first.page.locator("form button.main").click();
    await first.page.getByText("It is in the book.").waitFor();
    const said = await first.page.evaluate(async () => (await (await fetch("/api/run/job/show", {method: "POST", headers: {"Content-Type": "application/json"}, body: JSON.stringify({arguments: {JOB: 2, "--with-replaced": true}})})).json())
        .reply.entries.map(entry => entry.words));
    check("what both phones kept is in the book, one beside the other", ["from the first phone", "from the second phone"].every(words => said.includes(words)), said.join("; "));
    await first.page.goto(`${origin}/settings`);
    await first.page.getByText("the other phone").waitFor();
    await first.page.getByRole("button", {name: "Send away: the other phone"}).click();
    await first.page.getByText("is sent away").waitFor();
    await second.page.reload();
    await second.page.getByRole("heading", {name: "Let this device in"}).waitFor();
    check("a phone that was sent away stands before the door", true);
    const replay = await browser.newContext({ignoreHTTPSErrors: true});
    await replay.addCookies([cookie]);
    const answer = await replay.request.get(`${origin}/api/devices`);
    check("replay of its cookie is refused", answer.status() === 401, answer.status());
    await second.page.getByLabel("The six figures").fill(code);
    await button(second.page, "Let me in").click();
    await second.page.getByRole("alert").waitFor();
    check("the figures it came in by are used up", true);
} catch (error) {
    await broke_off(browser, "pairing", error);
}
await browser.close();
finish();
