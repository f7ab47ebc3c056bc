// Preparation: the plan's steps in order, each ticked by hand, with its wait running. Cautions stand before them.
import type {JSX} from "preact";
import {useEffect, useState} from "preact/hooks";
import type {Colour, Document, Job} from "../job/job";
import {last_of} from "../job/job";
import {path_to} from "../job/place";
import {Gate, plans_of} from "../look/look";
import type {Plan} from "../look/look";
import {useDoing} from "../shell/ask";
import {moment} from "../shell/time";
import {Caution, Choice, Deeper, Link, Note, Problem} from "../shell/ui";
import type {StepProps} from "../steps/steps";
import {add_step, step_named} from "../steps/steps";
import {t} from "../words/words";

interface PlanStep {
    n: number;
    step: string;
    id: string;
    text: string;
    grit?: string;
    wait?: string;
    wait_min?: number;
}

/** Which steps of a plan are done, and when: {"step-clean": "2026-11-26T00:41:00.000Z"}. */
type Ticks = Record<string, string>;
/** What one tap changed: when it was done, or null for taken back. */
type Tick = Record<string, string | null>;

/** With a key each that survives a second look: the id, and which time it comes. */
function steps_of(plan: Document): (PlanStep & {key: string})[] {
    const times = new Map<string, number>();
    return (plan["steps"] as PlanStep[] | undefined ?? []).filter(one => one.step === "prepare").map(one => {
        const time = (times.get(one.id) ?? 0) + 1;
        times.set(one.id, time);
        return {...one, key: time > 1 ? `${one.id} ${time}` : one.id};
    });
}

/** Each entry says only what it changed, so that taps of two phones join; what was ticked twice was done the first time. An entry with
 *  `done` is a whole list, as russet 0.1 wrote it until 2026-11-26. */
export function joined(entries: readonly Document[]): Ticks {
    let ticks: Ticks = {};
    for (const {done, ticked} of entries as {done?: Ticks; ticked?: Tick}[]) {
        if (done) ticks = {...done};
        for (const [key, at] of Object.entries(ticked ?? {})) if (at === null) delete ticks[key];
        else ticks[key] ??= at;
    }
    return ticks;
}

const ticks_of = (job: Job, piece: string | null): Ticks =>
    joined(job.entries.filter(entry => entry.kind === "prepared" && entry.piece === piece).map(entry => entry.document));

function useClock(): number {
    const [now, set] = useState(Date.now);
    useEffect(() => {
        const clock = setInterval(() => set(Date.now()), 10000);
        return () => clearInterval(clock);
    }, []);
    return now;
}

function Wait({minutes, since, now}: {minutes: number; since: string | undefined; now: number}): JSX.Element {
    if (!since) return <span class="wait">{t.prepare.wait(t.prepare.minutes(minutes))}</span>;
    const ready = new Date(since).getTime() + minutes * 60000;
    return <span class="wait">{now < ready ? t.prepare.ready(moment(new Date(ready).toISOString())) : t.prepare.waited}</span>;
}

function Ticking({plan, ticks, tick, busy}: {plan: Plan; ticks: Ticks; busy: boolean; tick(change: Tick, words: string): void}): JSX.Element {
    const now = useClock(), all = steps_of(plan), left = all.filter(one => !ticks[one.key]).length;
    const turn = (one: PlanStep & {key: string}): void =>
        ticks[one.key] ? tick({[one.key]: null}, t.prepare.unticked(one.text)) : tick({[one.key]: new Date().toISOString()}, one.text);
    return <>
        <p role="status"><strong>{left === 0 ? t.prepare.done_all : t.prepare.left(left)}</strong></p>
        <ol class="ticks">{all.map(one => <li key={one.key}>
            <label>
                <input type="checkbox" checked={ticks[one.key] !== undefined} disabled={busy} onChange={() => turn(one)}/>
                <span class="box" aria-hidden="true"/>
                <span>{one.text}{one.wait_min ? <Wait minutes={one.wait_min} since={ticks[one.key]} now={now}/> : null}</span>
            </label>
        </li>)}</ol>
    </>;
}

function Prepare({job, log}: StepProps): JSX.Element {
    const plans = plans_of(job), look = step_named("look");
    const [chosen, set_chosen] = useState(plans[0]?.piece ?? null);
    const [mine, set_mine] = useState<{place: string; change: Tick} | null>(null);
    const doing = useDoing();
    const entry = plans.find(one => one.piece === chosen) ?? plans[0];
    if (!entry) return <div class="empty"><p>{t.prepare.none}</p>{look && <Link class="button main" to={path_to(job, look, null)}>{t.quote.to_look}</Link>}</div>;
    const plan = entry.document as Plan, stopped = plan.refused !== undefined;
    const piece = entry.piece, place = piece ?? "";
    const tick = (change: Tick, words: string): void => {
        set_mine({place, change});
        void doing.go(() => log({kind: "prepared", format: 1, ticked: change}, {step: "prepare", piece, note: words})).then(() => set_mine(null));
    };
    const cautions = plan["cautions"] as {id: string; text: string}[] | undefined ?? [];
    const solvent = cautions.some(one => one.id === "plan-solvent");
    return <>
        {plans.length > 1 && <Choice label={t.look.which_piece} value={entry.piece ?? ""} set={value => set_chosen(value || null)}
            from={plans.map(one => ({value: one.piece ?? "", word: job.pieces.find(piece => piece.id === one.piece)?.name ?? t.look.whole_job}))}/>}
        {(stopped || plan.gate.says.length > 0) && <Gate plan={plan}/>}
        {solvent && <Caution><p>{t.prepare.outside}</p></Caution>}
        {cautions.length > 0 && <Deeper word={t.prepare.cautions} open={Object.keys(ticks_of(job, piece)).length === 0}>
            <ul class="plain">{cautions.map(one => <li key={one.id}>{one.text}</li>)}</ul>
        </Deeper>}
        <Problem text={doing.error}/>
        {!stopped && <Ticking key={place} plan={plan} ticks={joined([{done: ticks_of(job, piece)}, {ticked: mine?.place === place ? mine.change : {}}])} busy={doing.busy} tick={tick}/>}
        {typeof plan["cure_days"] === "number" && plan["cure_days"] > 0 && <Note><p>{t.prepare.cure(t.prepare.minutes(plan["cure_days"] * 1440))}</p></Note>}
    </>;
}

const left_of = (job: Job): number =>
    plans_of(job).reduce((n, entry) => n + steps_of(entry.document).filter(one => !ticks_of(job, entry.piece)[one.key]).length, 0);

add_step({
    name: "prepare", of: "job", screen: Prepare,
    done: (job: Job, _colour: Colour | null) => plans_of(job).length > 0 ? left_of(job) === 0 : last_of(job, "prepare") !== null,
});
