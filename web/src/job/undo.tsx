// Undo: one way for every step. What this device kept last in a step of a job can be taken back by another entry of the log that stands in
// its place: the entry that was there before, once more, or one that says "taken back". Nothing leaves the book, and taking back can
// itself be taken back. The note of what was kept last lies in the tab, so that a reload does not lose it; an entry that somebody else has
// replaced, or added to since, is not offered.
import type {JSX} from "preact";
import {useEffect, useState} from "preact/hooks";
import {KEPT} from "../api/outbox";
import {useDoing} from "../shell/ask";
import {useBar} from "../shell/bars";
import {Button} from "../shell/ui";
import {t} from "../words/words";
import type {Colour, Document, Entry, Job, LogOptions, StepName} from "./job";
import {STEPS, taken_back} from "./job";
import {fresh_of, OVER} from "./no_undo";

type Before = Pick<Entry, "id" | "kind" | "words" | "piece" | "colour" | "photographs">;

/** Goes with what is to be logged, until the book has it. */
export interface Act {
    job: string;
    step: StepName;
    /** What it is about: its kind, or the kind that it takes back. */
    kind: string;
    taken: boolean;
    piece: string | null;
    colour: string | null;
    /** The entry that it replaces. */
    before: Before | null;
    /** It belongs to what was kept just before it: both are taken back together. */
    with_last: boolean;
}

interface Done extends Act {
    entry: string;
}

/** Has a toggle of its own, or made more than an entry: a number, a pot. */
const NOT_HERE = new Set(["prepared", "quoted", "pour", "handover", "invoiced", "kept-finish", "photograph"]);
/** Taken back, it is out of its pot and the stock; poured into it again it is another correction. */
const ONE_WAY = new Set(["adjustment", "ring"]);

const place_of = (job: string, step: StepName): string => `done ${job} ${step}`;

function noted(job: string, step: StepName | null): Done[] {
    try {
        return step ? JSON.parse(sessionStorage.getItem(place_of(job, step)) ?? "[]") as Done[] : [];
    } catch {
        return [];
    }
}

addEventListener(KEPT, event => {
    const done = (event as CustomEvent<Done>).detail, before = done.with_last ? noted(done.job, done.step) : [];
    const list = (done.taken ? ONE_WAY : NOT_HERE).has(done.kind) ? [] : [...before, done];
    sessionStorage.setItem(place_of(done.job, done.step), JSON.stringify(list));
    sessionStorage.setItem(fresh_of(done.job), done.step);
});

const brief = ({id, kind, words, piece, colour, photographs}: Entry): Before => ({id, kind, words, piece, colour, photographs});

export function act_of(job: Job, step: StepName, kind: string, options: LogOptions): Act {
    const replaced = job.entries.find(entry => entry.id === options.replaces), taken = kind === "taken-back";
    return {job: job.id, step, kind: taken ? replaced?.kind ?? kind : kind, taken, piece: options.piece ?? null, colour: options.colour ?? null,
        before: replaced ? brief(replaced) : null, with_last: options.with_last ?? false};
}

/** They stand as they were logged, and nothing of their kind was logged after them. */
function may_undo(job: Job, done: readonly Done[]): boolean {
    return done.length > 0 && done.every(one => {
        const at = job.entries.findIndex(entry => entry.id === one.entry);
        return at >= 0 && !job.entries.slice(at + 1).some(entry => entry.step === one.step && entry.kind === one.kind && entry.piece === one.piece && entry.colour === one.colour);
    });
}

type Log = (document: Document | null, options: LogOptions) => Promise<void>;

function take_back(done: Done, log: Log, with_last: boolean): Promise<void> {
    const {before, step, piece, colour} = done, replaces = {replaces: done.entry, with_last};
    if (!before || before.kind === "taken-back") return log(taken_back(), {step, piece, colour, ...replaces});
    const documented = before.kind !== "photograph" && before.kind !== "note";
    return log(null, {step, piece: before.piece, colour: before.colour, note: before.words, kept: before.photographs, ...replaces, ...(documented ? {same_as: before} : {})});
}

/** The bar that offers it: on the step's own screen, and on the one that the step led to. */
export function useUndo(job: Job, step: StepName, colour: Colour | null, log: Log): void {
    const doing = useDoing(), [, again] = useState(0);
    useEffect(() => {
        const heard = (): void => again(n => n + 1);
        for (const told of [KEPT, OVER]) addEventListener(told, heard);
        return () => [KEPT, OVER].forEach(told => removeEventListener(told, heard));
    }, []);
    useEffect(() => () => { // one screen further is far enough
        if (sessionStorage.getItem(fresh_of(job.id)) !== step) sessionStorage.removeItem(fresh_of(job.id));
    }, [step]);
    const fresh = sessionStorage.getItem(fresh_of(job.id)) as StepName | null, here = fresh === step || (fresh !== null && STEPS.indexOf(step) === STEPS.indexOf(fresh) + 1);
    const done = noted(job.id, here ? fresh : null).filter(one => !colour || !one.colour || one.colour === colour.id), last = done[0];
    const undo = (): void => void doing.go(async () => {
        for (const [i, one] of [...done].reverse().entries()) await take_back(one, log, i > 0);
    });
    useBar("undo", doing.error ? <Failed text={doing.error} close={doing.clear}/> : !last || !may_undo(job, done) ? null
        : <div class="kept"><span>{last.taken ? (last.kind === "photograph" ? t.photos.taken_back : t.undone) : t.kept_what(t.step[last.step])}</span><Button busy={doing.busy} onClick={undo}>{t.undo}</Button></div>);
}

const Failed = ({text, close}: {text: string; close(): void}): JSX.Element =>
    <div class="kept" role="alert"><span>{text}</span><Button onClick={close}>{t.seen}</Button></div>;
