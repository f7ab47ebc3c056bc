// The job as `russet job show --documents` gives it, and what every step of it shares.
import type {FileOf} from "../api/api";
import {run} from "../api/api";

export const STEPS = ["look", "quote", "prepare", "colour", "recipe", "pour", "dabs", "coats", "grain", "sheen", "check",
    "handover"] as const;
export type StepName = typeof STEPS[number];

/** A document of a verb: {"kind": "reading", ...}. What is in it is the verb's own affair. */
export type Document = {kind?: string} & Record<string, any>;

export interface Entry {
    id: string;
    step: StepName;
    kind: string;
    at: string;
    zone: string;
    words: string;
    piece: string | null;
    colour: string | null;
    replaces: string | null;
    photographs: string[];
    document: Document;
}

export interface Piece {
    id: string;
    name: string;
    materials: string[];
}

export interface Colour {
    id: string;
    name: string;
    role: "body" | "second" | "thread" | "piping" | "other";
    pieces: string[];
    /** As the bench reckons it (shop/job_next.h): what comes next of this colour, and what was passed over on the way. */
    next: StepName | null;
    skipped: StepName[];
}

export interface Customer {
    id: string;
    name: string;
    telephone: string;
    email: string;
    address: string;
    words: string;
    trade: boolean;
    erased: string | null;
}

export interface Weighed {
    toner: string;
    g: number;
}

/** As the book has it; `parts` is all that was ever weighed in, `additions` what went in after the first pour. */
export interface Pot {
    id: string;
    name: string;
    colour: string | null;
    entry: string | null;
    at: string;
    poured_g: number;
    taken_g: number;
    parts: Weighed[];
    additions: {at: string; parts: Weighed[]}[];
    crosslinked: boolean;
    life_over: boolean;
    put_back: boolean;
    emptied: boolean;
    taken_back: string | null;
}

export type JobState = "open" | "waiting" | "ended" | "declined";

export interface JobBrief {
    id: string;
    number: number;
    title: string;
    customer: string | null;
    state: JobState;
    due: string | null;
    next: StepName | null;
    invented: boolean;
    changed: string;
}

export interface Job extends Omit<JobBrief, "customer"> {
    place: string;
    words: string;
    created: string;
    customer: Customer | null;
    pieces: Piece[];
    colours: Colour[];
    steps: {step: StepName; entries: number}[];
    entries: Entry[];
    pots: Pot[];
    skipped: StepName[];
    /** What is not passed over in silence. */
    owed: {id: string; text: string}[];
    quotes: {number: number; state: "open" | "accepted" | "declined" | "replaced"}[];
    invoices: {number: number; day: string; takes_back: boolean}[];
    /** The customer said yes to a quote, and no invoice stands for it. */
    unbilled: boolean;
    /** The job that came back as this one, why, and what was made then; and as which jobs this one came back. */
    return_of_number: number | null;
    return_cause: string | null;
    return_of_finishes: {id: string; name: string}[];
    returns: {number: number; cause: string | null}[];
    /** In the book of finishes by itself, newest first. */
    finishes: {id: string; name: string; words: string; entry: string | null}[];
}

export interface LogOptions {
    step?: StepName;
    piece?: string | null;
    colour?: string | null;
    photos?: Blob[];
    /** Hears how far a photograph has been sent, 0..1. */
    told?(part: number): void;
    /** Photographs that the shop has already, by hash. */
    kept?: string[];
    pot?: string;
    note?: string;
    /** Key of the entry that this one puts right. */
    replaces?: string;
    /** Logs the document of that entry once more. */
    same_as?: Pick<Entry, "id" | "kind">;
    /** It belongs to what was logged just before: an undo takes both back. */
    with_last?: boolean;
    /** Refused when there is one of its kind already: another device was first. */
    first?: boolean;
}

export const load_job = async (job: string | number): Promise<Job> =>
    (await run<Job>("job show", {JOB: String(job), "--documents": true})).reply;

/** What an undo logs in place of an entry that had none before it. */
export const taken_back = (): Document => ({kind: "taken-back", format: 1});

/** Entries of a step, newest last; with a colour only that colour's (and those of none). */
export const entries_of = (job: Job, step: StepName, colour?: Colour | null): Entry[] =>
    job.entries.filter(e => e.step === step && e.kind !== "taken-back" && (!colour || !e.colour || e.colour === colour.id));

export const last_of = (job: Job, step: StepName, kind?: string, colour?: Colour | null): Entry | null =>
    entries_of(job, step, colour).filter(e => !kind || e.kind === kind).pop() ?? null;

/** A document that is kept in an entry, as a file argument takes it. */
export const entry_file = (entry: Entry): FileOf => ({entry: entry.id});
