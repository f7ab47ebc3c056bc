// What the page's tests share: Chromium, checks that are counted, and what holds on every screen.
import {readFileSync, writeFileSync} from "node:fs";
import {createRequire} from "node:module";
import {check} from "./count.mjs";

export {check, picture, summary as finish} from "./count.mjs";

const web = new URL("../../web/", import.meta.url);
const require = createRequire(new URL("package.json", web));
const {chromium} = require("playwright-core");
const axe = readFileSync(new URL("node_modules/axe-core/axe.min.js", web), "utf8");

export const launch = () => chromium.launch({
    executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium", headless: true,
    args: ["--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync",
        ...(process.getuid() === 0 ? ["--no-sandbox"] : [])],
});

/** A device: its own cookies. `said` collects what its console complains of. */
export async function device(browser, width, height, scheme = "light", more = {}) {
    const context = await browser.newContext({viewport: {width, height}, colorScheme: scheme, acceptDownloads: true, reducedMotion: "reduce", ...more});
    context.setDefaultTimeout(Number(process.env.PATIENCE_MS ?? 300000)); // a fact is waited for, however busy the machine is: only what never comes ends a script
    if (process.env.DIST) // while working on the page: its newest build instead of the one inside the program
        for (const name of ["app.js", "app.css"]) await context.route(`**/${name}`, route => route.fulfill({path: `${process.env.DIST}/${name}`}));
    const page = await context.newPage(), said = [];
    page.on("pageerror", error => said.push(error.message));
    page.on("console", message => {
        if (message.type() === "error" && !/Failed to load resource|net::ERR/.test(message.text())) said.push(message.text());
    });
    return {context, page, said, width};
}

/* In the page: any painted colour outside of pictures whose red, green and blue differ. */
function coloured() {
    const hue = text => {
        const [r, g, b, a = "1"] = (text.match(/[\d.]+/g) ?? []);
        return text.startsWith("rgb") && Number(a) > 0 && !(r === g && g === b);
    };
    return [...document.querySelectorAll("body *")].filter(element => !element.closest("svg") && ["color", "backgroundColor", "borderTopColor", "outlineColor"]
        .some(name => hue(getComputedStyle(element)[name]))).slice(0, 3).map(element => element.outerHTML.slice(0, 80));
}

/* In the page: what is to be pressed and is smaller than 48 px. A link inside a sentence is text. */
function small() {
    return [...document.querySelectorAll("button, .button, .chip, summary, nav a, .card:is(a), input:not([type=radio]):not([type=checkbox]):not([type=file]), textarea")].filter(element => {
        const box = element.getBoundingClientRect();
        return box.width > 0 && (box.height < 47.5 || box.width < 47.5);
    }).slice(0, 3).map(element => element.outerHTML.slice(0, 80));
}

/** Until what was asked for is shown. */
export const settled = page => page.waitForFunction(() => document.querySelector("main h1") && !document.querySelector(".waiting:not(:empty) .dots, [aria-busy=true]"));

/** What holds on every screen: no axe violation, no colour but the material's, targets for a glove, no sideways scroll. */
export async function screen(of, name, with_axe = true) {
    const {page, width, said} = of, title = `${name} at ${width} px`;
    if (with_axe) {
        if (!await page.evaluate(() => "axe" in window)) await page.evaluate(axe);
        const {violations} = await page.evaluate(() => window.axe.run(document, {resultTypes: ["violations"], preload: false, iframes: false}));
        check(`axe finds no violation: ${title}`, violations.length === 0, violations.map(v => `${v.id}: ${v.nodes[0].html.slice(0, 120)}`).join("; "));
    }
    const hues = await page.evaluate(coloured), tiny = await page.evaluate(small);
    check(`no colour but the material's: ${title}`, hues.length === 0, hues.join("; "));
    check(`every target is 48 px: ${title}`, tiny.length === 0, tiny.join("; "));
    const over = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
    check(`nothing sticks out sideways: ${title}`, over <= 0, `${over} px`);
    check(`one heading of the first order: ${title}`, await page.locator("h1").count() === 1, await page.locator("h1").count());
    check(`the console is silent: ${title}`, said.length === 0, said.splice(0).join("; "));
    if (process.env.SHOTS) await page.screenshot({path: `${process.env.SHOTS}/${name.replace(/\W+/g, "-")}-${width}.png`, fullPage: true});
}

/** What the page saves: its bytes. */
export async function saved(page, press) {
    const [download] = await Promise.all([page.waitForEvent("download"), press()]);
    const name = download.suggestedFilename(), bytes = readFileSync(await download.path());
    if (process.env.SHOTS) writeFileSync(`${process.env.SHOTS}/${name}`, bytes);
    return {name, bytes};
}

/** A script that broke off: what its pages showed then (and their pictures in the folder SHOTS). */
export async function broke_off(browser, title, error) {
    for (const page of browser.contexts().flatMap(context => context.pages())) {
        const shown = await page.locator("body").innerText({timeout: 5000}).catch(() => "nothing");
        console.log(`${page.url()} shows: ${shown.replace(/\s+/g, " ").slice(0, 1500)}`);
        if (process.env.SHOTS) await page.screenshot({path: `${process.env.SHOTS}/failed.png`, fullPage: true}).catch(() => {});
    }
    check(title, false, error.stack);
}
