// The one door to the program behind the page: POST /api/run/VERB runs an operation of `russet --help`.
// A refusal arrives as a sentence for people; a lost connection is told apart, because trying again may help then.

import {t} from "../words/words";
import type {Asked, Verb} from "./operations";

export type FileOf = {document: unknown} | {text: string} | {base64: string} | {entry: string} | {photo: string} | {upload: string};
export type Argument = string | number | boolean | null | undefined | (string | number)[];
export type Arguments = Record<string, Argument>;
export type Files = Record<string, FileOf>;
/** A request that the table of operations takes: a verb, its arguments, and the files that they name. */
export type Request = {[V in Verb]: [verb: V, args?: Asked[V], files?: Files]}[Verb];

/** What an operation answered. `ok` is false when the work ran and the answer is no; `why` says it. */
export interface Ran<R> {
    ok: boolean;
    why: string;
    reply: R;
    written: Record<string, string>;
}

/** The program said no to the request itself; `message` is a whole sentence, `id` the name of its word. */
export class Refused extends Error {
    constructor(readonly id: string, text: string, readonly code: number) {
        super(text);
    }
}

/** Nothing came back: the bench is off, or out of reach. */
export class OutOfReach extends Error {}

export interface Me {
    paired: boolean;
    tls: boolean;
    /** This device works in the demo's shop. */
    demo: boolean;
    /** Null when nobody is let in. */
    version: string | null;
    /** In which the shop counts its days; null when nobody is let in. */
    zone: string | null;
}

export interface Device {
    id: string;
    name: string;
    paired: string;
    seen: string | null;
    /** The device that asks. */
    own: boolean;
}

export interface Pairing {
    code: string;
    address: string;
    minutes: number;
    fingerprint: string;
    qr: string;
}

/** Requests of this page itself: begun so far, and still on their way. Who looks what others did sees by it that own work came between. */
let begun = 0, on_their_way = 0;
export const own_requests = (): {begun: number; idle: boolean} => ({begun, idle: on_their_way === 0});

async function own<T>(work: () => Promise<T>): Promise<T> {
    begun++;
    on_their_way++;
    try {
        return await work();
    } finally {
        on_their_way--;
    }
}

async function reach(path: string, init: RequestInit): Promise<Response> {
    try {
        return await fetch(path, {credentials: "same-origin", cache: "no-store", ...init});
    } catch (error) {
        if (error instanceof DOMException && error.name === "AbortError") throw error;
        throw new OutOfReach("");
    }
}

/** Told to the page when the bench does not know this device (any more). */
export const SENT_AWAY = "russet-sent-away";

async function refusal(response: Response): Promise<Refused> {
    if (response.status === 401) dispatchEvent(new Event(SENT_AWAY));
    try {
        const {error} = await response.json() as {error: {id: string; text: string}};
        return new Refused(error.id, error.text, response.status);
    } catch {
        return new Refused(`HTTP_${response.status}`, "", response.status);
    }
}

async function ask<R>(method: string, path: string, body?: unknown): Promise<R> {
    const init: RequestInit = {method};
    if (body !== undefined) {
        init.headers = {"Content-Type": "application/json"};
        init.body = JSON.stringify(body);
    }
    const response = await reach(path, init);
    if (!response.ok) throw await refusal(response);
    try {
        return await response.json() as R;
    } catch {
        throw new OutOfReach("");
    }
}

const path_of = (verb: string): string => verb.split(" ").join("/");

const said = (args: Arguments): Arguments => Object.fromEntries(Object.entries(args).filter(([, value]) => value !== undefined && value !== ""));

const body_of = (args: Arguments, files: Files): {arguments: Arguments; files: Files} => ({arguments: said(args), files});

interface Told<R> {
    status: "OK" | "NO";
    why?: string;
    reply: R;
    written?: Record<string, string>;
}

const ran = <R>(told: Told<R>): Ran<R> =>
    ({ok: told.status === "OK", why: told.why ?? "", reply: told.reply, written: told.written ?? {}});

/** Runs an operation: run("job show", {JOB: 2}). File arguments name keys of `files`. */
export const run = <R>(...[verb, args, files]: Request): Promise<Ran<R>> => run_by<R>(verb, args, files);

/** As run(), of a request that was put together before; with a key it is carried out once, however often it is sent: again, the reply
 *  holds only the number that was given the first time. */
export async function run_by<R>(verb: Verb, args: Arguments = {}, files: Files = {}, key?: string): Promise<Ran<R>> {
    return ran(await own(() => ask<Told<R>>("POST", `/api/run/${path_of(verb)}`, {...body_of(args, files), ...(key ? {asked: key} : {})})));
}

/** As run(), without counting as work of this page. */
export const look_at = async <R>(...[verb, args = {}]: Request): Promise<R> =>
    (await ask<Told<R>>("POST", `/api/run/${path_of(verb)}`, body_of(args, {}))).reply;

export function new_key(): string {
    const bytes = crypto.getRandomValues(new Uint8Array(16));
    return [...bytes].map(b => b.toString(16).padStart(2, "0")).join("");
}

/** Tells wishes apart, no more (FNV-1a, 32 bits, and the length). */
function short_hash(text: string): string {
    let hash = 0x811c9dc5;
    for (let i = 0; i < text.length; i++) hash = Math.imul(hash ^ text.charCodeAt(i), 0x01000193);
    return `${hash >>> 0}-${text.length}`;
}

/** One key for one wish: kept in the tab until an answer came, so that the same wish, tried again after a lost answer or a reload, makes
 *  nothing twice. Another wish (other arguments) has another key. */
async function with_key<R>(verb: string, wish: unknown, work: (key: string) => Promise<R>): Promise<R> {
    const name = `asked ${verb} ${short_hash(JSON.stringify(wish))}`, key = sessionStorage.getItem(name) ?? new_key();
    sessionStorage.setItem(name, key);
    let answered = true;
    try {
        return await work(key);
    } catch (error) {
        answered = !(error instanceof OutOfReach);
        throw error;
    } finally {
        if (answered) sessionStorage.removeItem(name);
    }
}

export const run_once = <R>(...[verb, args = {}, files = {}]: Request): Promise<Ran<R>> =>
    with_key(verb, [said(args), files], key => run_by<R>(verb, args, files, key));

/** As run(), and `progress` hears 0..1 while it works; `stop` ends the work early. */
export async function run_watched<R>([verb, args = {}, files = {}]: Request, progress: (done: number) => void, stop?: AbortSignal): Promise<Ran<R>> {
    const init: RequestInit = {
        method: "POST", headers: {"Content-Type": "application/json", "Accept": "text/event-stream"},
        body: JSON.stringify(body_of(args, files)),
    };
    if (stop) init.signal = stop;
    const response = await reach(`/api/run/${path_of(verb)}`, init);
    if (!response.ok || !response.body) throw await refusal(response);
    for await (const event of events_of(response.body)) {
        if (event.name === "progress") progress((JSON.parse(event.data) as {done: number}).done);
        if (event.name === "reply") return ran(JSON.parse(event.data) as Told<R>);
        if (event.name === "error") {
            const {error} = JSON.parse(event.data) as {error: {id: string; text: string}};
            throw new Refused(error.id, error.text, 400);
        }
    }
    throw new OutOfReach("");
}

export interface ServerEvent {
    name: string;
    data: string;
}

/** Server-sent events of a POST: EventSource only knows GET. */
export async function* events_of(body: ReadableStream<Uint8Array>): AsyncGenerator<ServerEvent> {
    const reader = body.getReader(), decoder = new TextDecoder();
    let rest = "";
    try {
        for (;;) {
            const {done, value} = await reader.read();
            if (done) return;
            rest += decoder.decode(value, {stream: true});
            const blocks = rest.split("\n\n");
            rest = blocks.pop()!;
            for (const block of blocks) yield event_of(block);
        }
    } finally {
        void reader.cancel().catch(() => undefined);
    }
}

function event_of(block: string): ServerEvent {
    const event: ServerEvent = {name: "message", data: ""};
    for (const line of block.split("\n")) {
        if (line.startsWith("event:")) event.name = line.slice(6).trim();
        if (line.startsWith("data:")) event.data += line.slice(5).trim();
    }
    return event;
}

async function blob_of(response: Response): Promise<Blob> {
    if (!response.ok) throw await refusal(response);
    try {
        return await response.blob();
    } catch {
        throw new OutOfReach("");
    }
}

/** The paper of an operation, as `--out x.pdf` would draw it. */
export async function paper<V extends Verb>(verb: V, args: Asked[V], files: Files = {},
                                            as: "pdf" | "svg" | "png" | "ics" | "json" = "pdf", key?: string): Promise<Blob> {
    return blob_of(await reach(`/api/paper/${path_of(verb)}?as=${as}`, {
        method: "POST", headers: {"Content-Type": "application/json"}, body: JSON.stringify({...body_of(args, files), ...(key ? {asked: key} : {})}),
    }));
}

/** A paper whose making is logged. When the first answer was lost, the one that was made then is shown. */
export const paper_once = <V extends Verb>(verb: V, args: Asked[V], shown: Asked[V]): Promise<Blob> => with_key(verb, said(args), async key => {
    try {
        return await paper(verb, args, {}, "pdf", key);
    } catch (error) {
        if (error instanceof Refused && error.id === "book-asked") return paper(verb, shown);
        throw error;
    }
});

/** A chosen file's own name, without what a verb would take for something else, and each once. */
export function name_of(file: File, taken: object): string {
    let name = file.name.replace(/[^A-Za-z0-9._-]+/g, "-").replace(/^-+/, "") || "file";
    while (name in taken) name = `_${name}`;
    return name;
}

/** A file the person chose, as it goes into `files`: a large one in pieces. */
export const file_of = (blob: Blob): Promise<FileOf> => blob.size > PIECE ? upload(blob) : whole_of(blob);

async function whole_of(blob: Blob): Promise<FileOf> {
    const bytes = new Uint8Array(await blob.arrayBuffer());
    let text = "";
    for (let at = 0; at < bytes.length; at += 0x8000) text += String.fromCharCode(...bytes.subarray(at, at + 0x8000));
    return {base64: btoa(text)};
}

/** As it was taken; or made small, so that every browser shows every kind. */
export const photo_address = (sha256: string, small?: 320 | 1600): string => `/api/photo/${sha256}${small ? `?small=${small}` : ""}`;

/** The same as bytes; one that cannot be decoded is refused in words. */
export const small_photo = async (sha256: string): Promise<Blob> => blob_of(await reach(photo_address(sha256, 1600), {method: "GET"}));

/** A photograph that was chosen and is not kept, made small: for kinds that this browser does not show. */
export async function small_upload(photo: Blob): Promise<Blob> {
    const sent = await upload(photo);
    if (!("upload" in sent)) throw new Refused("page-picture", t.picture_unseen, 400);
    return blob_of(await reach(`/api/upload/${sent.upload}?small=1600`, {method: "GET"}));
}

const PIECE = 512 * 1024;

/** Sends a photograph in pieces, going on from where the bench stands: what arrived before a lost connection is not sent again. */
export async function upload(photo: Blob, told?: (part: number) => void): Promise<FileOf> {
    if (!globalThis.crypto?.subtle || photo.size === 0) return whole_of(photo);
    const bytes = await photo.arrayBuffer();
    const sha256 = [...new Uint8Array(await crypto.subtle.digest("SHA-256", bytes))].map(b => b.toString(16).padStart(2, "0")).join("");
    let {offset} = await ask<{offset: number}>("GET", `/api/upload/${sha256}`);
    while (offset < photo.size) {
        told?.(offset / photo.size);
        const response = await reach(`/api/upload/${sha256}?size=${photo.size}&offset=${offset}`, {method: "POST", body: bytes.slice(offset, offset + PIECE)});
        if (!response.ok) throw await refusal(response);
        ({offset} = await response.json() as {offset: number});
    }
    return {upload: sha256};
}

/** This device works in the demo's shop from now on, or in its own again. */
export const demo = (on: boolean): Promise<{demo: boolean}> => ask("POST", "/api/demo", {on});

export const me = (): Promise<Me> => ask("GET", "/api/me");
export const pair = (code: string, name: string): Promise<{paired: boolean}> => ask("POST", "/api/pair", {code, name});
export const pairing = (): Promise<Pairing> => ask("POST", "/api/pairing", {});
/** `refused`: how often somebody was not let in since the bench was started. */
export const devices = (): Promise<{devices: Device[]; refused: {count: number; last: string | null}}> => ask("GET", "/api/devices");
export const revoke = (id: string): Promise<{devices: Device[]}> => ask("POST", "/api/devices/revoke", {id});

/** The whole shop as one file, as `russet shop backup` writes it. */
export const backup = async (): Promise<Blob> =>
    blob_of(await reach("/api/backup", {method: "POST", headers: {"Content-Type": "application/json"}, body: "{}"}));
