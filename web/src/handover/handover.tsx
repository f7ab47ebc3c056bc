// The last step: photographs of the finished piece, the record as a paper, the finish into the book, the invoice.
import type {JSX} from "preact";
import {useState} from "preact/hooks";
import {paper, paper_once, Refused, run, run_once} from "../api/api";
import {useDraft} from "../job/draft";
import type {Entry, Job} from "../job/job";
import {entry_file, last_of} from "../job/job";
import {sentence_of, useAsked, useDoing} from "../shell/ask";
import {save_as} from "../shell/money";
import {Photos} from "../shell/photos";
import {moment} from "../shell/time";
import {Button, Caution, Deeper, Field, Form, Link, Note, Problem, Undo} from "../shell/ui";
import type {StepProps} from "../steps/steps";
import {add_step} from "../steps/steps";
import {ask_quote} from "../quote/quote";
import {t} from "../words/words";

/** Refusals of a job without a check that passed. */
const UNPROVEN = ["handover-no-check", "handover-not-passed"];

function Record_({job, reload}: StepProps): JSX.Element {
    const [draft, set] = useDraft(`handover ${job.id}`, {remark: ""});
    const [asks, set_asks] = useState<string | null>(null);
    const doing = useDoing(), made = last_of(job, "handover", "handover"), name = `record-${job.number}.pdf`;
    const make = (even_so: boolean): void => void doing.go(async () => {
        try {
            save_as(await paper_once("handover", {JOB: job.id, "--remark": draft.remark.trim() ? [draft.remark.trim()] : [], "--even-so": even_so}, {JOB: job.id, "--show": true}), name);
            set_asks(null);
        } catch (error) {
            if (!(error instanceof Refused && UNPROVEN.includes(error.id))) throw error;
            return set_asks(sentence_of(error));
        }
        await reload();
    });
    const save = (as: "pdf" | "ics"): void => void doing.go(async () =>
        save_as(await paper(as === "ics" ? "job due" : "handover", as === "ics" ? {JOB: job.id} : {JOB: job.id, "--show": true}, {}, as), as === "ics" ? `job-${job.number}.ics` : name));
    return <Form send={() => make(false)}>
        {made && <>
            <Note><p>{t.handover.made(moment(made.at))}</p></Note>
            <Button main busy={doing.busy} onClick={() => save("pdf")}>{t.handover.save}</Button>
            <div class="row"><Button busy={doing.busy} onClick={() => save("ics")}>{t.handover.calendar}</Button></div>
        </>}
        <Field label={t.handover.remark} hint={t.handover.remark_hint} lines={2} value={draft.remark} set={remark => set({remark})}/>
        <Problem text={doing.error}/>
        {asks && <Caution><p>{asks}</p><p>{t.handover.even_so_or}</p><div class="row"><Link class="button" to={`/job/${job.number}/check`}>{t.handover.to_check}</Link><Button busy={doing.busy} onClick={() => make(true)}>{t.handover.even_so}</Button></div></Caution>}
        <Button main={!made} submit busy={doing.busy}>{made ? t.handover.again : t.handover.make}</Button>
    </Form>;
}

const RECIPES = ["match", "pour", "adjustment", "recipe"];

/** The newest recipe of a colour that the book of finishes can take. */
const recipe_entry = (job: Job, colour: string): Entry | null =>
    job.entries.filter(entry => RECIPES.includes(entry.kind) && (entry.colour === colour || entry.colour === null)).pop() ?? null;

/** A pour that was logged is in the book by itself; here it gets the name that it is looked for by. */
function Named({finish, reload}: {finish: Job["finishes"][number]; reload(): Promise<void>}): JSX.Element {
    const [typed, set, forget] = useDraft<{name?: string}>(`finish ${finish.id}`, {}), name = typed.name ?? finish.name, [was, set_was] = useState<string | null>(null), doing = useDoing();
    const call = (to: string, before: string | null): Promise<boolean> => doing.go(async () => {
        await run("finish name", {FINISH: finish.id, "--name": to});
        forget();
        set_was(before);
        await reload();
    });
    return <Form send={() => void (name.trim() && name.trim() !== finish.name && call(name.trim(), finish.name))}>
        <Field label={t.handover.keep_name} value={name} set={name => set({name})}/>
        <Problem text={doing.error}/>
        {was !== null ? <Undo word={t.handover.kept(finish.name)} undo={() => call(was, null).then(() => undefined)}/> : <p class="hint">{t.handover.kept(finish.name)}</p>}
        <div class="row"><Button submit busy={doing.busy} disabled={!name.trim() || name.trim() === finish.name}>{t.handover.rename}</Button><Link class="button" to={`/book/${finish.id}`}>{t.places.book}</Link></div>
    </Form>;
}

function Keep({job, log, entries, reload}: StepProps): JSX.Element | null {
    const [names, set_names] = useDraft<Record<string, string>>(`finish names ${job.id}`, {});
    const doing = useDoing();
    const kept = (colour: string): string | null => entries.find(entry => entry.kind === "kept-finish" && entry.colour === colour)?.document["name"] ?? null;
    // A recipe that nobody poured, and that is to be found again all the same.
    const poured = new Set(job.finishes.map(one => job.entries.find(entry => entry.id === one.entry)?.colour ?? null));
    const able = job.colours.filter(colour => !poured.has(colour.id) && !(poured.has(null) && job.colours.length === 1) && recipe_entry(job, colour.id));
    const keep = (colour: Job["colours"][number]): void => void doing.go(async () => {
        const name = (names[colour.id] ?? `${job.title}, ${colour.name}`).trim();
        const {reply} = await run_once<{finish?: string; id?: string}>("finish keep", {RECIPE: "recipe", "--name": name, "--job": job.id, "--words": job.title},
            {recipe: entry_file(recipe_entry(job, colour.id)!)});
        await log({kind: "kept-finish", format: 1, name, finish: reply.id ?? reply.finish ?? null}, {colour: colour.id});
    });
    return <section>
        <h2>{t.handover.keep}</h2>
        <p>{able.length || job.finishes.length ? t.handover.keep_how : t.handover.no_pot}</p>
        {job.finishes.map(finish => <Named key={finish.id} finish={finish} reload={reload}/>)}
        {able.map(colour => {
            const name = kept(colour.id);
            return name ? <Note key={colour.id}><p>{t.handover.kept(name)}</p></Note> : <Form key={colour.id} send={() => keep(colour)}>
                <Field label={`${t.handover.keep_name} (${colour.name})`} value={names[colour.id] ?? `${job.title}, ${colour.name}`} set={value => set_names({...names, [colour.id]: value})}/>
                <Button submit busy={doing.busy}>{t.handover.keep_send}</Button>
            </Form>;
        })}
        <Problem text={doing.error}/>
    </section>;
}

/** An invoice is never deleted: another one, with a number of its own, takes it back. */
function TakeBack({job, number, log}: {job: Job; number: number; log: StepProps["log"]}): JSX.Element {
    const [sure, set_sure] = useState(false), doing = useDoing();
    const cancel = (): Promise<boolean> => doing.go(async () => {
        const {reply} = await run_once<{number: number}>("invoice", {JOB: job.id, "--cancel": number});
        await log({kind: "invoiced", format: 1, number: reply.number, cancels: number}, {note: t.handover.takes_back(reply.number, number)});
    });
    if (!sure) return <Button quiet onClick={() => set_sure(true)}>{t.handover.take_back(number)}</Button>;
    return <Caution><p>{t.handover.take_back_how}</p><Problem text={doing.error}/>
        <div class="row"><Button busy={doing.busy} onClick={() => void cancel()}>{t.handover.take_back(number)}</Button><Button onClick={() => set_sure(false)}>{t.cancel}</Button></div></Caution>;
}

/** "second arm = 80" as the verb takes it. */
const extras_of = (text: string): string[] => text.split("\n").map(line => line.trim().replace(/\s*[=:]\s*(?=[\d.,]+$)/, "=")).filter(Boolean);

function Invoice({job, log}: StepProps): JSX.Element {
    const quote = useAsked(() => ask_quote(job), `${job.id} ${last_of(job, "quote")?.id}`);
    const [{hours, extra}, set_form, forget] = useDraft(`invoice ${job.id}`, {hours: "", extra: ""});
    const doing = useDoing(), last = job.invoices[job.invoices.length - 1] ?? null, billed = last && !last.takes_back ? last.number : null;
    const make = (): void => void doing.go(async () => {
        const {reply} = await run_once<{number: number}>("invoice", {JOB: job.id, "--hours": hours.trim().replace(",", "."), "--extra": extras_of(extra)});
        await log({kind: "invoiced", format: 1, number: reply.number}, {note: t.handover.invoice_number(reply.number)});
        forget();
    });
    const save = (number: number): void => void doing.go(async () => save_as(await paper("invoice", {JOB: job.id, "--show": number}), `invoice-${number}.pdf`));
    return <Deeper word={t.handover.invoice} open={last_of(job, "handover", "handover") !== null}>
        {job.invoices.map(one => <div class="row" key={one.number}><Button busy={doing.busy} onClick={() => save(one.number)}>{t.handover.save_invoice(one.number)}</Button></div>)}
        {billed !== null ? <TakeBack job={job} number={billed} log={log}/> : quote.value && job.quotes.some(one => one.state === "accepted") ? <Form send={make}>
            <Field label={t.handover.hours} unit="h" hint={t.handover.hours_hint} mode="decimal" value={hours} set={hours => set_form({hours, extra})}/>
            <Field label={t.handover.extra} unit={quote.value.currency} hint={t.handover.extra_hint} lines={2} value={extra} set={extra => set_form({hours, extra})}/>
            <Button submit busy={doing.busy}>{t.handover.make_invoice}</Button>
        </Form> : !quote.waiting && job.invoices.length === 0 && <p>{t.handover.no_quote}</p>}
        <Problem text={doing.error ?? quote.error}/>
    </Deeper>;
}

function End({job, reload}: StepProps): JSX.Element {
    const doing = useDoing();
    const end = (): void => void doing.go(async () => {
        try {
            await run("job change", {JOB: job.id, "--state": "ended", "--unchanged-since": job.changed});
        } finally {
            await reload();
        }
    });
    return <div class="after">
        <Problem text={doing.error}/>
        {job.state === "ended" ? <Note><p>{t.handover.ended}</p></Note> : <Button busy={doing.busy} onClick={end}>{t.handover.end}</Button>}
    </div>;
}

function Handover(p: StepProps): JSX.Element {
    return <>
        <h2>{t.handover.photos}</h2>
        <Photos step="handover" entries={p.entries} log={p.log}/>
        <Record_ {...p}/>
        <Keep {...p}/>
        <Invoice {...p}/>
        <End {...p}/>
    </>;
}

add_step({
    name: "handover", of: "job", screen: Handover,
    done: job => last_of(job, "handover", "handover") !== null,
    outcome: job => {
        const made = last_of(job, "handover", "handover");
        return made && t.handover.made(moment(made.at));
    },
});
