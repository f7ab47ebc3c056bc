// What is to be logged is kept on the phone (IndexedDB) until the bench has said that it is in the book. A lost
// connection, a reload or an empty battery loses nothing; the same bytes are sent again.
//
// The bench may have logged it although its answer was lost. So before a second try the job is asked for an entry with
// the mark of this one. The mark is what was sent: step, colour, words, and the photographs' hashes.
import type {Arguments, FileOf, Files} from "./api";
import {OutOfReach, run} from "./api";

export interface Parcel {
    key?: number;
    verb: string;
    args: Arguments;
    files: Files;
    /** Job to look in, and what was there before: entries that are not new are not this one. */
    job: string;
    seen: string[];
    tries: number;
}

type Listener = (waiting: number) => void;

const listeners = new Set<Listener>();
const memory: Parcel[] = [];
let next_key = 1;

function database(): Promise<IDBDatabase | null> {
    return new Promise(resolve => {
        try {
            const open = indexedDB.open("russet", 1);
            open.onupgradeneeded = () => open.result.createObjectStore("parcels", {keyPath: "key", autoIncrement: true});
            open.onsuccess = () => resolve(open.result);
            open.onerror = () => resolve(null);
        } catch {
            resolve(null);
        }
    });
}

function within<T>(mode: IDBTransactionMode, work: (store: IDBObjectStore) => IDBRequest<T>): Promise<T | null> {
    return database().then(db => db === null ? null : new Promise<T | null>(resolve => {
        const transaction = db.transaction("parcels", mode);
        const request = work(transaction.objectStore("parcels"));
        transaction.oncomplete = () => resolve(request.result);
        transaction.onabort = () => resolve(null);
        transaction.onerror = () => resolve(null);
    }).finally(() => db.close()));
}

async function keep(parcel: Parcel): Promise<void> {
    const key = await within("readwrite", store => store.add(parcel));
    if (key !== null) parcel.key = key as number;
    else { // no store in this browser: at least in memory
        parcel.key = -next_key++;
        memory.push(parcel);
    }
    void tell();
}

async function mark_tried(parcel: Parcel): Promise<void> {
    parcel.tries++;
    if (parcel.key! > 0) await within("readwrite", store => store.put(parcel));
}

async function drop(parcel: Parcel): Promise<void> {
    const at = memory.indexOf(parcel);
    if (at >= 0) memory.splice(at, 1);
    if (parcel.key! > 0) await within("readwrite", store => store.delete(parcel.key!));
    void tell();
}

const all = async (): Promise<Parcel[]> =>
    [...(await within<Parcel[]>("readonly", store => store.getAll()) ?? []), ...memory];

async function tell(): Promise<void> {
    const waiting = (await all()).length;
    for (const listener of listeners) listener(waiting);
}

export function watch_outbox(listener: Listener): () => void {
    listeners.add(listener);
    void tell();
    return () => void listeners.delete(listener);
}

interface SeenEntry {
    id: string;
    step: string;
    words: string;
    photographs: string[];
}

const photos_of = (parcel: Parcel): FileOf[] =>
    ([] as (string | number)[]).concat(parcel.args["--photo"] as (string | number)[] ?? [])
        .flatMap(name => parcel.files[name] ?? []);

async function hash_of(file: FileOf): Promise<string> {
    if ("photo" in file) return file.photo;
    if (!("base64" in file) || !globalThis.crypto?.subtle) return "";
    const bytes = Uint8Array.from(atob(file.base64), c => c.charCodeAt(0));
    return [...new Uint8Array(await crypto.subtle.digest("SHA-256", bytes))].map(b => b.toString(16).padStart(2, "0")).join("");
}

async function is_logged(parcel: Parcel): Promise<boolean> {
    const {reply} = await run<{entries: SeenEntry[]}>("job show", {JOB: parcel.job, "--with-replaced": true});
    const hashes = (await Promise.all(photos_of(parcel).map(hash_of))).sort().join();
    return reply.entries.some(entry => !parcel.seen.includes(entry.id)
        && (parcel.args["--step"] === undefined || entry.step === parcel.args["--step"])
        && entry.words === (parcel.args["--note"] ?? "") && [...entry.photographs].sort().join() === hashes);
}

const flying = new Set<number>();

async function send(parcel: Parcel): Promise<void> {
    if (flying.has(parcel.key!)) return;
    flying.add(parcel.key!);
    try {
        if (parcel.tries === 0 || !await is_logged(parcel)) {
            await mark_tried(parcel);
            await run(parcel.verb, parcel.args, parcel.files);
        }
        await drop(parcel);
    } catch (error) {
        if (!(error instanceof OutOfReach)) await drop(parcel); // refused: sending it again would not help
        throw error;
    } finally {
        flying.delete(parcel.key!);
    }
}

/** Logs it now, or says OutOfReach and keeps it for later. A refusal is thrown as it is. */
export async function post(verb: string, args: Arguments, files: Files, job: string, seen: string[]): Promise<void> {
    const parcel: Parcel = {verb, args, files, job, seen, tries: 0};
    await keep(parcel);
    await send(parcel);
}

/** Sends what is still kept, oldest first; stops at the first that does not get through. */
export async function flush(): Promise<number> {
    let sent = 0;
    for (const parcel of await all()) {
        try {
            await send(parcel);
            sent++;
        } catch (error) {
            if (error instanceof OutOfReach) break;
        }
    }
    void tell();
    return sent;
}
