// What is to be logged is kept on the phone (IndexedDB) until the bench has said that it is in the book. A lost
// connection, a reload or an empty battery loses nothing. Photographs are sent in pieces and go on from where they were; each parcel
// has a key, and the bench carries out what has the same key once, so that an answer that was lost makes no second entry.
import type {Arguments, Files} from "./api";
import {new_key, OutOfReach, run_by, upload} from "./api";
import type {Verb} from "./operations";

export interface Parcel {
    key?: number;
    verb: Verb;
    args: Arguments;
    files: Files;
    /** Photographs by the name that `args` give them. */
    photos: Record<string, Blob>;
    asked: string;
    /** Told back, with the key of the entry, when it is in the book (KEPT). */
    act?: object;
}

/** Event: something that was to be logged is in the book. */
export const KEPT = "russet-in-the-book";

type Listener = (waiting: number) => void;

const listeners = new Set<Listener>();
const memory: Parcel[] = [];
let next_key = 1;

function database(): Promise<IDBDatabase | null> {
    return new Promise(resolve => {
        try {
            const open = indexedDB.open("russet", 2);
            open.onupgradeneeded = () => {
                if (open.result.objectStoreNames.contains("parcels")) open.result.deleteObjectStore("parcels");
                open.result.createObjectStore("parcels", {keyPath: "key", autoIncrement: true});
            };
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

async function drop(parcel: Parcel): Promise<void> {
    const at = memory.indexOf(parcel);
    if (at >= 0) memory.splice(at, 1);
    if (parcel.key! > 0) await within("readwrite", store => store.delete(parcel.key!));
    void tell();
}

const all = async (): Promise<Parcel[]> =>
    [...(await within<Parcel[]>("readonly", store => store.getAll()) ?? []), ...memory];

/** On their first way: they are told of only when they did not get through. */
const setting_out = new Set<string>();

async function tell(): Promise<void> {
    const waiting = (await all()).filter(parcel => !setting_out.has(parcel.asked)).length;
    for (const listener of listeners) listener(waiting);
}

export function watch_outbox(listener: Listener): () => void {
    listeners.add(listener);
    void tell();
    return () => void listeners.delete(listener);
}

const flying = new Set<number>();

async function send(parcel: Parcel, told?: (part: number) => void): Promise<void> {
    if (flying.has(parcel.key!)) return;
    flying.add(parcel.key!);
    try {
        const files = {...parcel.files};
        for (const [name, photo] of Object.entries(parcel.photos)) files[name] = await upload(photo, told);
        const {reply} = await run_by<{entry?: {id: string}; id?: string}>(parcel.verb, parcel.args, files, parcel.asked), entry = reply.entry?.id ?? reply.id;
        await drop(parcel);
        if (parcel.act && entry) dispatchEvent(new CustomEvent(KEPT, {detail: {...parcel.act, entry}}));
    } catch (error) {
        if (!(error instanceof OutOfReach)) await drop(parcel); // refused: sending it again would not help
        throw error;
    } finally {
        flying.delete(parcel.key!);
    }
}

/** Logs it now, or says OutOfReach and keeps it for later. A refusal is thrown as it is. `told` hears how far a photograph is. */
export async function post(verb: Verb, args: Arguments, files: Files, photos: Record<string, Blob>, act: object, told?: (part: number) => void): Promise<void> {
    const parcel: Parcel = {verb, args, files, photos, asked: new_key(), act};
    setting_out.add(parcel.asked);
    try {
        await keep(parcel);
        await send(parcel, told);
    } finally {
        setting_out.delete(parcel.asked);
        void tell();
    }
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
