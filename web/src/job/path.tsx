// A job: whose, what comes next in large, the path of its steps, and what is known about it.
import type {JSX} from "preact";
import {useState} from "preact/hooks";
import {photo_address, run} from "../api/api";
import {of_the_page, useDoing} from "../shell/ask";
import {Photo} from "../shell/photos";
import {day, moment} from "../shell/time";
import {Button, Caution, Choice, Deeper, Field, Form, Link, Problem, Screen, Undo} from "../shell/ui";
import {go} from "../shell/place";
import type {Step} from "../steps/steps";
import {step_named, steps} from "../steps/steps";
import {t} from "../words/words";
import type {Colour, Job, JobState} from "./job";
import {entries_of, last_of} from "./job";
import {useDraft} from "./draft";
import {Parts, colour_about} from "./parts";
import {path_to} from "./place";

export const is_done = (job: Job, step: Step, colour: Colour | null): boolean =>
    step.done ? step.done(job, colour) : entries_of(job, step.name, step.of === "colour" ? colour : null).length > 0;

/** Of the colour that is worked on, else of the job: the bench's own rule. */
const next_of = (job: Job, colour: Colour | null): Step | null => {
    const name = (colour ?? job).next;
    return name && step_named(name);
};

function Next({job, step, colour}: {job: Job; step: Step; colour: Colour | null}): JSX.Element {
    return <Link class="next" to={path_to(job, step, colour)}>
        <span class="word">{t.step_state.next}</span>
        <strong>{t.step[step.name]}</strong>
        <span>{t.step_does[step.name]}</span>
    </Link>;
}

function Path({job, colour, next}: {job: Job; colour: Colour | null; next: Step | null}): JSX.Element {
    return <ol class="path" aria-label={t.the_path}>
        {steps().map(step => {
            const done = is_done(job, step, colour), state = step === next ? "next" : done ? "done" : (colour ?? job).skipped.includes(step.name) ? "skipped" : "open";
            return <li key={step.name} class={state === "next" ? "next-step" : state}>
                <Link to={path_to(job, step, colour)}>
                    <span class="mark" aria-hidden="true"/>
                    <span class="name">{t.step[step.name]}</span>
                    <span class="outcome">{(done && step.outcome?.(job, step.of === "colour" ? colour : null)) || t.step_state[state]}</span>
                </Link>
            </li>;
        })}
    </ol>;
}

interface AboutForm {
    title: string;
    due: string;
    place: string;
    words: string;
}

const about_form = (job: Job): AboutForm => ({title: job.title, due: job.due?.slice(0, 10) ?? "", place: job.place, words: job.words});

function About({job, reload}: {job: Job; reload(): Promise<void>}): JSX.Element {
    const doing = useDoing(), [changed, set_changed] = useState<Record<string, string> | null>(null);
    // Only what was typed here is sent; the rest follows the book. Refused because another device was first, it stays in its fields, the
    // book's words stand above, and who saves once more has seen them.
    const [typed, set_typed, forget] = useDraft<Partial<AboutForm>>(`about ${job.id}`, {}), in_book = about_form(job), form = {...in_book, ...typed};
    const set = (one: Partial<AboutForm>): void => set_typed({...typed, ...one});
    const change = (more: Record<string, string>, was: Record<string, string>): Promise<boolean> => doing.go(async () => {
        set_changed(null);
        try {
            await run("job change", {JOB: job.id, "--unchanged-since": job.changed, ...more});
            set_changed(was);
        } finally {
            await reload();
        }
    });
    const send = (): void => {
        const names = (Object.keys(typed) as (keyof AboutForm)[]).filter(name => typed[name] !== in_book[name]);
        const as_arguments = (of: AboutForm): Record<string, string> => Object.fromEntries(names.map(name => [`--${name}`, of[name]]));
        if (names.length === 0) return forget();
        void change(as_arguments(form), as_arguments(in_book)).then(went => went && forget());
    };
    const undo = async (): Promise<void> => {
        const was = changed!;
        if (await change(was, {})) set_changed(null);
    };
    return <Form send={send}>
        <Field label={t.new_job.title} value={form.title} set={title => set({title})}/>
        <Field label={t.new_job.due} type="date" value={form.due} set={due => set({due})}/>
        <Field label={t.new_job.place} value={form.place} set={place => set({place})}/>
        <Field label={t.new_job.words} lines={3} value={form.words} set={words => set({words})}/>
        <Problem text={doing.error}/>
        {changed && <Undo word={t.kept} undo={undo}/>}
        <Button submit busy={doing.busy}>{t.save}</Button>
        <div class="gap"/>
        <Choice<JobState> label={t.about.state} value={job.state} set={state => void change({"--state": state}, {"--state": job.state})}
            from={(["open", "waiting", "ended", "declined"] as const).map(value => ({value, word: t.job_state[value], about: t.about.states[value]}))}/>
    </Form>;
}

function History({job}: {job: Job}): JSX.Element {
    return job.entries.length === 0 ? <p>{t.about.nothing_yet}</p> : <ol class="history">
        {[...job.entries].reverse().map(entry => <li key={entry.id}>
            <p class="when">{moment(entry.at)} · {t.step[entry.step]}{t.kind(entry.kind) && ` · ${t.kind(entry.kind)}`}</p>
            {entry.words && <p>{entry.words}</p>}
            {entry.photographs.length > 0 && <div class="photos">{entry.photographs.map(sha256 =>
                <a key={sha256} href={photo_address(sha256, 1600)} target="_blank" rel="noopener"><Photo sha256={sha256} alt={t.look.photo_of(t.step[entry.step])}/></a>)}</div>}
        </li>)}
    </ol>;
}

/** What came back, as what, and how it was made then. */
function Returns({job}: {job: Job}): JSX.Element | null {
    const from = job.return_of_number;
    if (!from && !job.returns.length) return null;
    return <section class="returns">
        {from && <p><Link to={`/job/${from}`}>{t.about.return_of(from)}</Link>{job.return_cause && `: ${job.return_cause}`}</p>}
        {from && job.return_of_finishes.map(finish => <p key={finish.id}>{t.about.made_then} <Link to={`/book/${finish.id}`}>{finish.name}</Link></p>)}
        {job.returns.map(one => <p key={one.number}><Link to={`/job/${one.number}`}>{t.about.came_back(one.number)}</Link>{one.cause && `: ${one.cause}`}</p>)}
    </section>;
}

export function JobPath({job, colour, reload}: {job: Job; colour: Colour | null; reload(): Promise<void>}): JSX.Element {
    const next = next_of(job, colour), customer = job.customer;
    return <Screen title={job.title} above={<p class="above">
        <Link class="back" to="/">{t.places.jobs}</Link><span class="at">{t.jobs.number(job.number)} · {t.job_state[job.state]}</span>
    </p>}>
        {customer && <p class="whose">{customer.name}{customer.telephone && <a href={`tel:${customer.telephone}`}>{customer.telephone}</a>}</p>}
        {(job.due || job.place) && <p class="whose">{[job.due && t.jobs.due(day(job.due)), job.place].filter(Boolean).join(" · ")}</p>}
        {job.words && <p>{job.words}</p>}
        {job.colours.length > 1 && <Choice label={t.which_colour} value={colour?.id ?? null}
            set={id => go(`/job/${job.number}?colour=${id}`, true)} from={job.colours.map(one => ({value: one.id, word: one.name, about: colour_about(job, one)}))}/>}
        {job.owed.length > 0 && <Caution>{job.owed.map(one => <p key={one.text}>{of_the_page(one.text)}</p>)}</Caution>}
        {next && <Next job={job} step={next} colour={colour}/>}
        {!next && job.state !== "declined" && job.unbilled && <Link class="next" to={`/job/${job.number}/handover`}>
            <span class="word">{t.step_state.next}</span><strong>{t.handover.invoice}</strong><span>{t.handover.not_billed}</span>
        </Link>}
        <Returns job={job}/>
        <h2>{t.the_path}</h2>
        <Path job={job} colour={colour} next={next}/>
        {(last_of(job, "handover", "handover") || job.state === "ended") && <p><Link class="button" to={`/new?back=${job.number}`}>{t.about.comes_back}</Link></p>}
        <Deeper word={t.about.parts}><Parts job={job} reload={reload}/></Deeper>
        <Deeper word={t.about.title}><About job={job} reload={reload}/></Deeper>
        <Deeper word={t.about.history}><History job={job}/></Deeper>
    </Screen>;
}
