// kill -9 of the server at random moments of a whole job driven over HTTP: from a new customer, photographs in pieces, quote, recipe, pour,
// correction, a final check that fails and one that passes, to invoice and handover. After every kill the shop opens, `shop check` is clean,
// nothing that was acknowledged is missing or changed; then the request that was lost is sent again with its key, the job goes on to its end, and
// nothing is there twice. Usage: node kill.mjs RUSSET [DEMO SHOP]; 20 rounds, 300 with RUSSET_LONG. What is only reckoned (match, pour,
// adjustment ...) is reckoned once, before the kills, and its documents are logged in every round.
import {execFileSync, spawn} from "node:child_process";
import {createHash} from "node:crypto";
import {accessSync, constants, cpSync, mkdtempSync, readFileSync, rmSync} from "node:fs";
import http from "node:http";
import {tmpdir} from "node:os";
import {join} from "node:path";
import {isDeepStrictEqual} from "node:util";
import {check, picture, summary} from "./count.mjs";

const [,, russet, given] = process.argv, rounds = process.env.RUSSET_LONG ? 300 : 20;
const memory = (() => { // many a sync
    try {
        accessSync("/dev/shm", constants.W_OK);
        return "/dev/shm";
    } catch {
        return tmpdir();
    }
})();
const work = mkdtempSync(join(process.env.TMPDIR ?? memory, "russet-kill-"));
process.on("exit", () => rmSync(work, {recursive: true, force: true}));

class Lost extends Error {}

/** A chain of numbers in 0..1 that is the same every time (mulberry32, public domain). */
let seed = 20261126;
const random = () => {
    seed = seed + 0x6d2b79f5 | 0;
    let n = Math.imul(seed ^ seed >>> 15, 1 | seed);
    n = n + Math.imul(n ^ n >>> 7, 61 | n) ^ n;
    return ((n ^ n >>> 14) >>> 0) / 4294967296;
};

// ---- the server ----

async function serve(shop) {
    const child = spawn(russet, ["serve", "--shop", shop, "--port", "0"], {stdio: ["ignore", "pipe", "ignore"]});
    const ended = new Promise(resolve => child.once("exit", resolve));
    const address = await new Promise((resolve, reject) => {
        let said = "";
        child.stdout.on("data", more => {
            said += more;
            if (said.includes("\n")) resolve(said.split("\n")[0]);
        });
        child.once("exit", () => reject(new Lost("the server did not start")));
    });
    const url = new URL(address), agent = new http.Agent({keepAlive: true, maxSockets: 1});
    const server = {child, ended, url, agent, cookie: "", busy: false};
    const {headers} = await send(server, "GET", url.pathname + url.search);
    server.cookie = headers["set-cookie"][0].split(";")[0];
    return server;
}

async function end(server, signal) {
    server.child.kill(signal);
    await server.ended;
    server.agent.destroy();
}

const send = (server, method, path, body) => new Promise((resolve, reject) => {
    server.busy = true;
    const lost = error => {
        server.busy = false;
        reject(new Lost(`${path}: ${error.message}`));
    };
    const request = http.request({host: server.url.hostname, port: server.url.port, agent: server.agent, method, path,
        headers: {Origin: server.url.origin, Cookie: server.cookie, "Content-Type": "application/json", "Content-Length": body?.length ?? 0}}, response => {
        const parts = [];
        response.on("data", part => parts.push(part));
        response.on("error", lost);
        response.on("aborted", () => lost(new Error("cut off")));
        response.on("end", () => {
            server.busy = false;
            resolve({code: response.statusCode, headers: response.headers, bytes: Buffer.concat(parts)});
        });
    });
    request.on("error", lost);
    request.end(body);
});

const is_refused = reply => new Error(`${reply.code}: ${reply.bytes.toString().slice(0, 300)}`);

async function run(server, verb, args, files = {}, key) {
    const reply = await send(server, "POST", `/api/run/${verb.split(" ").join("/")}`, Buffer.from(JSON.stringify({arguments: args, files, ...(key ? {asked: key} : {})})));
    if (reply.code !== 200) throw is_refused(reply);
    return JSON.parse(reply.bytes);
}

const sha256 = bytes => createHash("sha256").update(bytes).digest("hex");

/** In pieces, from where the server stands. */
async function upload(server, bytes) {
    const name = sha256(bytes), step = 4000;
    for (let offset = JSON.parse((await send(server, "GET", `/api/upload/${name}`)).bytes).offset; offset < bytes.length;) {
        const piece = bytes.subarray(offset, offset + step);
        const reply = await send(server, "POST", `/api/upload/${name}?size=${bytes.length}&offset=${offset}`, piece);
        if (reply.code !== 200) throw is_refused(reply);
        offset = JSON.parse(reply.bytes).offset;
    }
    return name;
}

// ---- the job: every step says what must be there from the moment that it was acknowledged ----

/** What is only reckoned. */
async function reckon(server, russet_demo) {
    const text = name => ({text: readFileSync(join(russet_demo, name), "utf8")});
    const one = async (verb, args, files) => (await run(server, verb, args, files)).reply;
    const shelf = {document: await one("shelf toners", {})}, seat = await one("reading", {FILE: ["seat"]}, {seat: text("helm-seat.cgats")});
    const plan = await one("plan", {"--craft": "boat", "--place": "seat", "--material": "pigmented", "--damage": "crack,worn", "--airbag": "no", "--area-m2": .6, "--line-mm": 120});
    const match = await one("match", {"--toners": "toners", "--target": "seat", "--batch-g": 60, "--top": 2}, {toners: shelf, seat: {document: seat}});
    const parts = match.recipes[0].parts.map(part => `${part.toner}=${part.g}`).join(",");
    const pour = await one("pour", {"--recipe": "match#1", "--batch-g": 60, "--poured": parts, "--name": "cognac"}, {match: {document: match}});
    const adjustment = await one("adjust", {"--toners": "toners", "--recipe": "match#1", "--by-eye": "redder 1", "--taken-g": 3}, {toners: shelf, match: {document: match}});
    const coats = await one("coats", {"--area-m2": .6, "--film-um": 84, "--solids-volume": .32, "--by": "mini-gun"});
    return {seat, plan, match, pour, adjustment, coats};
}

const big = number => {
    const it = picture(number), more = Buffer.alloc(9000, number); // bytes after the end of a PNG are kept as they are
    return Buffer.concat([it.buffer, more]);
};

function steps_of(made) {
    const log = (name, args, files, more = {}) => ({name, more, act: (s, at, key) => run(s, "job log", {JOB: at.job, ...args(at)}, files, key)});
    const inspect = (name, repair) => ({name, act: (s, at, key) => run(s, "inspect", {JOB: at.job, "--sound": ["--lab=42,20,30"], "--repair": [`--lab=${repair}`], "--spot": ["front edge"]}, {}, key)});
    const photo = number => ({name: `photograph ${number}`, kind: "photograph", photograph: sha256(big(number)), act: async (s, at, key) => run(s, "job log", {JOB: at.job, "--step": "look", "--photo": ["a"]},
        {a: {upload: await upload(s, big(number))}}, key)});
    return [
        {name: "new job", kind: "job", act: async (s, at, key) => {
            const {reply} = await run(s, "job new", {"--title": "Helm seat", "--customer": "demo customer 2", "--telephone": "+00 555 0190", "--piece": ["seat"], "--colour": ["cognac"]}, {}, key);
            at.job = reply.number;
        }},
        {name: "material", kind: "material", act: (s, at, key) => run(s, "job add", {JOB: at.job, "--piece": "seat", "--material": "pigmented leather"}, {}, key)},
        photo(1), photo(2),
        {...log("look", () => ({FILE: "d", "--step": "look", "--piece": "seat", "--note": "bolster cracked"}), {d: {document: made.plan}}), kind: "plan", document: made.plan},
        {name: "quote", kind: "quote", act: async (s, at, key) => at.quote = (await run(s, "quote", {JOB: at.job, "--materials": "18.50"}, {}, key)).reply.number},
        {name: "accept", kind: "accepted", act: (s, at, key) => run(s, "quote", {JOB: at.job, "--accept": true}, {}, key)},
        {...log("reading", () => ({FILE: "d", "--colour": "cognac"}), {d: {document: made.seat}}), kind: "reading", document: made.seat},
        {...log("recipe", () => ({FILE: "d", "--colour": "cognac"}), {d: {document: made.match}}), kind: "match", document: made.match},
        {name: "pour", kind: "pour", document: made.pour, act: async (s, at, key) => {
            const {reply} = await run(s, "job log", {JOB: at.job, FILE: "d", "--colour": "cognac"}, {d: {document: made.pour}}, key);
            at.pot = reply.pot ?? (await run(s, "pot list", {"--job": at.job})).reply.pots[0].id;
        }},
        {...log("correction", at => ({FILE: "d", "--colour": "cognac", "--pot": at.pot}), {d: {document: made.adjustment}}), kind: "adjustment", document: made.adjustment},
        {...log("coats", () => ({FILE: "d", "--colour": "cognac"}), {d: {document: made.coats}}), kind: "coats", document: made.coats},
        {...inspect("check that fails", "46,24,25"), kind: "inspection", verdict: "fail"},
        {...inspect("check that passes", "42.1,20.1,30.1"), kind: "inspection", verdict: "pass"},
        {name: "finish", kind: "finish", act: (s, at, key) => run(s, "finish keep", {RECIPE: "d", "--name": "Cognac of the round", "--job": at.job}, {d: {document: made.match}}, key)},
        {name: "invoice", kind: "invoice", act: async (s, at, key) => at.invoice = (await run(s, "invoice", {JOB: at.job, "--hours": 6}, {}, key)).reply.number},
        {name: "handover", kind: "handover", act: async (s, at, key) => {
            const reply = await send(s, "POST", "/api/paper/handover", Buffer.from(JSON.stringify({arguments: {JOB: at.job}, asked: key})));
            if (reply.code !== 200 && !reply.bytes.includes("book-asked")) throw is_refused(reply);
        }},
        {name: "end", kind: "ended", act: (s, at, key) => run(s, "job change", {JOB: at.job, "--state": "ended"}, {}, key)},
    ];
}

/** What of an acknowledged step is not there; null when all is. */
async function missing(server, step, at, job) {
    const entries = job.entries.filter(entry => entry.kind === step.kind);
    switch (step.kind) {
    case "job": return job.title === "Helm seat" && job.customer?.telephone === "+00 555 0190" && job.pieces.length === 1 && job.colours.length === 1 ? null : "the job";
    case "material": return job.pieces[0]?.materials.includes("pigmented leather") ? null : "the material";
    case "photograph": {
        if (!entries.some(entry => entry.photographs.includes(step.photograph))) return "the photograph's entry";
        const {bytes} = await send(server, "GET", `/api/photo/${step.photograph}`);
        return sha256(bytes) === step.photograph ? null : "the photograph's bytes";
    }
    case "quote": return (await run(server, "quote", {JOB: at.job, "--show": true})).reply.number === at.quote ? null : "the quote";
    case "accepted": return (await run(server, "quote", {JOB: at.job, "--show": true})).reply.state === "accepted" ? null : "that it was accepted";
    case "pour":
        if (!job.pots.some(pot => pot.id === at.pot && pot.poured_g > 50)) return "the pot";
        break;
    case "inspection": return entries.some(entry => entry.document.verdict === step.verdict) ? null : `the check, ${step.verdict}`;
    case "finish": return (await run(server, "finish find", {"--words": "Cognac of the round"})).reply.finishes.length === 1 ? null : "the finish";
    case "invoice": return (await run(server, "invoice", {JOB: at.job, "--show": at.invoice})).reply.number === at.invoice ? null : "the invoice";
    case "handover": return entries.length === 1 ? null : "the record";
    case "ended": return job.state === "ended" ? null : "that it ended";
    }
    return entries.some(entry => isDeepStrictEqual(entry.document, step.document)) ? null : `the ${step.name}`;
}

async function look(server, done, at) {
    const problems = [], checked = await run(server, "shop check", {});
    if (checked.status !== "OK") problems.push(`check: ${checked.why}`);
    if (at.job === undefined) return problems;
    const {reply: job} = await run(server, "job show", {JOB: at.job, "--documents": true});
    for (const step of done) {
        const gone = await missing(server, step, at, job);
        if (gone) problems.push(`${gone} is missing`);
    }
    return problems;
}

/** Nothing twice: the job's entries by kind, its pots, all jobs, numbers, customers and stock. */
async function census(server, at) {
    const {reply: job} = await run(server, "job show", {JOB: at.job, "--documents": true}), kinds = {};
    for (const entry of job.entries) kinds[entry.kind] = (kinds[entry.kind] ?? 0) + 1;
    const jobs = (await run(server, "job list", {})).reply.jobs.length, customers = (await run(server, "customer list", {})).reply.customers.length;
    const stock = (await run(server, "shelf show", {})).reply.toners.map(toner => [toner.id, toner.left_g]);
    return {kinds, pots: job.pots.map(pot => pot.poured_g), jobs, customers, stock, quote: at.quote, invoice: at.invoice};
}

const key_of = (round, number) => `kill-test-round-${round}-step-${number}`;

/** Goes through the steps from `begin`; ends at the first whose answer is lost. `begins` hears of each. */
async function go_on(server, steps, at, round, begin = 0, begins = () => {}) {
    for (let i = begin; i < steps.length; i++) {
        begins(i);
        try {
            await steps[i].act(server, at, key_of(round, i));
        } catch (error) {
            if (error instanceof Lost) return i;
            error.message = `${steps[i].name}: ${error.message}`;
            throw error;
        }
    }
    return steps.length;
}

const demo = given ?? join(work, "demo"), data = new URL("../../data/demo/", import.meta.url).pathname;
if (!given) execFileSync(russet, ["shop", "init", "--demo", "--shop", demo]);
const fresh = name => {
    const shop = join(work, name);
    cpSync(demo, shop, {recursive: true});
    return shop;
};

async function unharmed() {
    const server = await serve(fresh("whole")), steps = steps_of(await reckon(server, data)), at = {};
    const begun = [];
    check("a job goes through over HTTP", await go_on(server, steps, at, "whole", 0, i => begun[i] = performance.now()) === steps.length);
    begun.push(performance.now());
    const took = steps.map((_, i) => begun[i + 1] - begun[i]), problems = await look(server, steps, at);
    check("all of it is there afterwards", problems.length === 0, problems.join("; "));
    const counted = await census(server, at);
    await go_on(server, steps, at, "whole");
    check("every request sent again with its key makes nothing twice", isDeepStrictEqual(await census(server, at), counted), JSON.stringify([counted, await census(server, at)]));
    await end(server, "SIGKILL");
    rmSync(join(work, "whole"), {recursive: true});
    return {steps, counted, took};
}

async function one_round(round, {steps, counted, took}) {
    const shop = fresh("killed"), at = {};
    let server = await serve(shop), at_work = false;
    // Any request of the job, any moment of it: counted from where it begins, so that a busy machine does not bring all kills to the beginning.
    const which = Math.floor(random() * steps.length), after = random() * took[which];
    let killed = null;
    const reached = await go_on(server, steps, at, round, 0, i => {
        if (i === which) killed = new Promise(resolve => setTimeout(() => {
            at_work = server.busy;
            resolve(end(server, "SIGKILL"));
        }, after));
    });
    await killed;
    server = await serve(shop);
    const problems = await look(server, steps.slice(0, reached), at);
    const ended = await go_on(server, steps, at, round, reached);
    if (ended !== steps.length) problems.push("the job cannot go on");
    problems.push(...await look(server, steps, at));
    const now = await census(server, at);
    if (!isDeepStrictEqual(now, counted)) problems.push(`counted ${JSON.stringify(now)} where ${JSON.stringify(counted)} is right`);
    await end(server, "SIGKILL");
    rmSync(shop, {recursive: true});
    return {problems, reached, at_work};
}

try {
    const whole = await unharmed();
    let acknowledged = 0, at_work = 0, bad = 0;
    for (let round = 1; round <= rounds; round++) {
        const {problems, reached, at_work: busy} = await one_round(round, whole);
        acknowledged += reached;
        at_work += busy;
        bad += problems.length > 0;
        if (problems.length) console.log(`  round ${round}, ${whole.steps[reached]?.name ?? "after the end"}: ${problems.join("; ")}`);
    }
    console.log(`  figure: ${rounds} kills of the server in a job of ${whole.steps.length} requests over HTTP, ${at_work} of them while a request was at work; ${acknowledged} acknowledged, ${bad} rounds with something missing, unsound or twice`);
    check("after kill -9 the shop opens, is sound, misses nothing acknowledged, and has nothing twice when asked again", bad === 0, bad);
} catch (error) {
    check("the kills", false, error.stack);
}
summary();
