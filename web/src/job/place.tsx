// A job: its steps as a path with the next one large, and the frame around each step's own screen.
import type {JSX} from "preact";
import {useCallback, useEffect, useRef, useState} from "preact/hooks";
import type {Files} from "../api/api";
import type {Asked} from "../api/operations";
import {look_at, name_of, own_requests} from "../api/api";
import {post} from "../api/outbox";
import {useAsked} from "../shell/ask";
import {useBar} from "../shell/bars";
import {go, usePlace} from "../shell/place";
import {Button, Choice, Link, Screen, Told} from "../shell/ui";
import type {Step, StepProps} from "../steps/steps";
import {step_named, steps} from "../steps/steps";
import {t} from "../words/words";
import type {Colour, Document, Entry, Job, LogOptions} from "./job";
import {entries_of, load_job} from "./job";
import {is_done, JobPath} from "./path";
import {act_of, useUndo} from "./undo";

const LOOK_EVERY_MS = 4000;

async function log_to(job: Job, step: Step, document: Document | null, options: LogOptions): Promise<void> {
    const files: Files = {};
    const args: Asked["job log"] = {JOB: job.id, "--step": options.step ?? step.name};
    if (document) {
        files["document"] = {document};
        args["FILE"] = "document";
    } else if (options.same_as) {
        files["document"] = {entry: options.same_as.id};
        args["FILE"] = "document";
    }
    const photos: string[] = [], sent: Record<string, Blob> = {};
    for (const [at, photo] of (options.photos ?? []).entries()) {
        const name = photo instanceof File ? name_of(photo, sent) : `photo-${at + 1}`; // a refusal calls it so
        sent[name] = photo;
        photos.push(name);
    }
    for (const sha256 of options.kept ?? []) {
        files[`kept-${sha256.slice(0, 16)}`] = {photo: sha256};
        photos.push(`kept-${sha256.slice(0, 16)}`);
    }
    if (photos.length) args["--photo"] = photos;
    for (const name of ["piece", "colour", "pot", "note", "replaces"] as const) if (options[name]) args[`--${name}`] = options[name];
    if (options.first) args["--first"] = true;
    const kind = document?.kind ?? options.same_as?.kind ?? (photos.length ? "photograph" : "note");
    await post("job log", args, files, sent, act_of(job, options.step ?? step.name, kind, options), options.told);
}

export const colour_of = (job: Job, wanted: string | null): Colour | null =>
    job.colours.find(colour => colour.id === wanted) ?? job.colours[0] ?? null;

export const path_to = (job: Job, step: Step | null, colour: Colour | null): string =>
    `/job/${job.number}${step ? `/${step.name}` : ""}${colour && job.colours.length > 1 && step?.of !== "job" ? `?colour=${colour.id}` : ""}`;

/** What another device did since: told in words, shown when asked for, never under the finger of who is typing here. */
function useOthers(job: Job | null): {news: string | null; seen(): void} {
    const [news, set] = useState<string | null>(null);
    const known = useRef<Job | null>(job);
    known.current = job;
    useEffect(() => {
        const look = async (): Promise<void> => {
            const mine = known.current, {begun, idle} = own_requests();
            if (!mine || !idle || document.visibilityState !== "visible") return;
            try {
                const theirs = await look_at<Job>("job show", {JOB: mine.id});
                if (known.current === mine && begun === own_requests().begun) set(difference(mine, theirs)); // else it may be what was done here
            } catch { /* out of reach: the next look tells */ }
        };
        const clock = setInterval(() => void look(), LOOK_EVERY_MS);
        return () => clearInterval(clock);
    }, []);
    useEffect(() => set(null), [job]);
    return {news, seen: () => set(null)};
}

function difference(mine: Job, theirs: Job): string | null {
    const known = new Set(mine.entries.map(entry => entry.id));
    const fresh = theirs.entries.filter((entry: Entry) => !known.has(entry.id)).map(entry => t.step[entry.step]);
    const gone = mine.entries.length + fresh.length !== theirs.entries.length;
    if (theirs.changed !== mine.changed && !fresh.length && !gone) fresh.push(t.changed_words);
    return fresh.length ? [...new Set(fresh)].join(", ") : gone ? t.undone : null;
}

function StepScreen({job, step, colour, reload}: {job: Job; step: Step; colour: Colour | null; reload(): Promise<void>}): JSX.Element {
    const all = steps(), at = all.indexOf(step), following = all[at + 1] ?? null;
    const log = useCallback<StepProps["log"]>(async (document, options = {}) => {
        const whose = options.colour === undefined && step.of === "colour" ? {colour: colour?.id ?? null} : {};
        try {
            await log_to(job, step, document, {...options, ...whose});
        } finally {
            await reload();
        }
    }, [job, step, colour]);
    useUndo(job, step.name, step.of === "colour" ? colour : null, log);
    const Inside = step.screen;
    return <Screen title={t.step[step.name]} above={<p class="above">
        <Link class="back" to={path_to(job, null, null)}>{job.title}</Link>
        <span class="at">{t.step_of(at + 1, all.length)}</span>
    </p>}>
        {step.of === "colour" && job.colours.length > 1 && <Choice label={t.which_colour} value={colour?.id ?? null}
            set={id => go(`/job/${job.number}/${step.name}?colour=${id}`, true)} from={job.colours.map(one => ({value: one.id, word: one.name}))}/>}
        <Inside job={job} colour={step.of === "colour" ? colour : null} entries={entries_of(job, step.name, step.of === "colour" ? colour : null)}
            reload={reload} log={log} next={() => go(following ? path_to(job, following, colour) : path_to(job, null, null))}/>
        {following && <nav class="onward" aria-label={t.the_path}>
            <Link class={is_done(job, step, colour) && !step.leads_on ? "button" : undefined} to={path_to(job, following, colour)}>{t.go_on_with(t.step[following.name])}</Link>
        </nav>}
    </Screen>;
}

export function JobPlace({number, step}: {number: string; step: string | null}): JSX.Element {
    const asked = useAsked(() => load_job(number), number);
    const job = asked.value;
    const {query} = usePlace();
    const others = useOthers(job);
    useEffect(() => { // ticks of two phones join: there is nothing to ask
        if (others.news && step === "prepare") void asked.again();
    }, [others.news]);
    useBar("others", others.news && step !== "prepare" ? <div class="kept"><span>{t.changed_elsewhere(others.news)}</span><Button onClick={() => void asked.again()}>{t.reload_now}</Button></div> : null);
    useEffect(() => {
        const sent = (): void => void asked.again();
        addEventListener("russet-sent", sent);
        return () => removeEventListener("russet-sent", sent);
    }, []);
    if (!job) return <Screen title={t.places.jobs}><Told asked={asked}/></Screen>;
    const colour = colour_of(job, query.get("colour")), here = step === null ? null : step_named(step);
    return <>
        {step === null ? <JobPath job={job} colour={colour} reload={asked.again}/>
            : here ? <StepScreen key={`${here.name} ${colour?.id}`} job={job} step={here} colour={colour} reload={asked.again}/>
            : <Screen title={t.no_such_place}><Link class="button" to={`/job/${job.number}`}>{t.back_to_job}</Link></Screen>}
    </>;
}
