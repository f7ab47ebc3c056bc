// The price: a range, beside a new part. Numbered and frozen by the program; this only asks and shows.
import type {JSX} from "preact";
import {useState} from "preact/hooks";
import type {Asked} from "../api/operations";
import {paper, Refused, run, run_once} from "../api/api";
import {Notes} from "../colour/reading_view";
import {useDraft} from "../job/draft";
import type {Document, Job} from "../job/job";
import {last_of} from "../job/job";
import {plans_of} from "../look/look";
import {path_to} from "../job/place";
import {useAsked, useDoing} from "../shell/ask";
import {amount, money, save_as} from "../shell/money";
import {day} from "../shell/time";
import {Button, Deeper, Field, Form, Link, Many, Note, Problem, Told} from "../shell/ui";
import type {StepProps} from "../steps/steps";
import {add_step, step_named} from "../steps/steps";
import {t} from "../words/words";
import {Prices, usePricesSaid, usePricing} from "./prices";

export interface Quote extends Document {
    number: number;
    state: "open" | "accepted" | "declined" | "replaced";
    currency: string;
    prices: "net" | "gross";
    tax_ppm: number;
    valid_until: string;
    lines: {kind: string; what: string; hours?: number; low_minor: number; high_minor: number}[];
    low: {net_minor: number; gross_minor: number};
    high: {net_minor: number; gross_minor: number};
    hours: {p50: number; p80: number};
    choice?: {text: string} | null;
}

export async function ask_quote(job: Job): Promise<Quote | null> {
    try {
        return (await run<Quote>("quote", {JOB: job.id, "--show": true})).reply;
    } catch (error) {
        if (error instanceof Refused && error.id === "quote-none") return null;
        throw error;
    }
}

function Range({quote}: {quote: Quote}): JSX.Element {
    const shown = (one: Quote["low"]): string => money(quote.tax_ppm > 0 ? one.gross_minor : one.net_minor, quote.currency);
    const low = shown(quote.low), high = shown(quote.high);
    return <section class="price" aria-label={t.quote.number(quote.number)}>
        <p class="hint">{t.quote.number(quote.number)} · {t.quote.holds(day(quote.valid_until))}</p>
        <p class="range"><span>{t.quote.range}</span> <strong>{low}</strong> <span>{t.quote.and}</span> <strong>{high}</strong></p>
        {quote.tax_ppm > 0 && <p>{t.quote.with_tax}</p>}
        <Notes of={quote}/>
        {quote.choice?.text && <Note><p>{quote.choice.text}</p></Note>}
        <Deeper word={t.quote.lines}>
            <p>{t.quote.hours(quote.hours.p50.toFixed(1), quote.hours.p80.toFixed(1))}</p>
            <table><thead><tr><td/><th scope="col">{t.quote.from}</th><th scope="col">{t.quote.up_to(quote.currency)}</th></tr></thead><tbody>{quote.lines.map((line, at) => <tr key={at}>
                <th scope="row">{line.what}</th><td>{amount(line.low_minor, quote.currency)}</td><td>{amount(line.high_minor, quote.currency)}</td>
            </tr>)}</tbody></table>
        </Deeper>
    </section>;
}

interface AskProps {
    job: Job;
    quote: Quote | null;
    currency: string;
    log: StepProps["log"];
    done(): Promise<void>;
}

function Ask({job, quote, currency, log, done}: AskProps): JSX.Element {
    const [form, set] = useDraft(`quote ${job.id}`, {materials: "", new_part: "", km: "", discount: "", call_out: [] as "call_out"[]});
    const doing = useDoing();
    const field = (key: "materials" | "new_part" | "km" | "discount", unit?: string) =>
        <Field label={t.quote[key]} value={form[key]} set={value => set({...form, [key]: value})} mode="decimal" {...(unit ? {unit} : {})}/>;
    const send = (): void => void doing.go(async () => {
        const plain = (key: "materials" | "new_part" | "km" | "discount"): string => form[key].trim().replace(",", ".");
        const args: Asked["quote"] = {JOB: job.id, "--materials": plain("materials"), "--new-part": plain("new_part"), "--km": plain("km"), "--discount": plain("discount"), "--call-out": form.call_out.length > 0};
        const {reply} = await run_once<Quote>("quote", args), before = last_of(job, "quote", "quoted");
        await log({kind: "quoted", format: 1, number: reply.number}, {note: t.quote.number(reply.number), ...(before ? {replaces: before.id} : {})});
        await done();
    });
    return <Form send={send}>
        <Deeper word={t.quote.others} open={!quote}>
            {field("materials", currency)}{field("new_part", currency)}{field("km", "km")}{field("discount", "%")}
            <Many label={t.new_job.place} value={form.call_out} set={call_out => set({...form, call_out})} from={[{value: "call_out" as const, word: t.quote.call_out}]}/>
        </Deeper>
        <Problem text={doing.error}/>
        {quote ? <Button submit busy={doing.busy}>{t.quote.again}</Button> : <Button main submit busy={doing.busy}>{t.quote.make}</Button>}
    </Form>;
}

function Answer({job, quote, done}: {job: Job; quote: Quote; done(): Promise<void>}): JSX.Element {
    const doing = useDoing();
    const say = (flag: "--accept" | "--decline"): void => void doing.go(async () => {
        await run_once("quote", {JOB: job.id, [flag]: true});
        await done();
    });
    const save = (): void => void doing.go(async () => save_as(await paper("quote", {JOB: job.id, "--show": true}), `quote-${quote.number}.pdf`));
    return <>
        {quote.state === "accepted" && <Note><p>{t.quote.accepted}</p></Note>}
        {quote.state === "declined" && <Note><p>{t.quote.declined}</p></Note>}
        <Problem text={doing.error}/>
        {quote.state === "open" && <Button main busy={doing.busy} onClick={() => say("--accept")}>{t.quote.accept}</Button>}
        <div class="row">
            {quote.state === "open" && <Button busy={doing.busy} onClick={() => say("--decline")}>{t.quote.decline}</Button>}
            <Button busy={doing.busy} onClick={save}>{t.quote.paper}</Button>
        </div>
    </>;
}

function QuoteStep({job, reload, log}: StepProps): JSX.Element {
    const pricing = usePricing(), newest = last_of(job, "quote");
    const asked = useAsked(() => ask_quote(job), `${job.id} ${newest?.id}`);
    const [prices, set_prices] = useState(false);
    const prices_said = usePricesSaid(pricing);
    const look = step_named("look");
    const done = async (): Promise<void> => {
        await reload();
        await asked.again();
    };
    if (plans_of(job).length === 0) return <div class="empty">
        <p>{t.quote.look_first}</p>{look && <Link class="button main" to={path_to(job, look, null)}>{t.quote.to_look}</Link>}
    </div>;
    const said = pricing.value?.pricing ?? null;
    return <Told asked={pricing}>
        {!said || prices
            ? <>
                {!said && <p>{t.quote.no_prices}</p>}
                <Prices pricing={said} said={prices_said} kept={async () => {
                    set_prices(false);
                    await pricing.again();
                }} again={pricing.again}/>
            </>
            : <Told asked={{...asked, value: asked.waiting && asked.value === null ? null : true}}>
                {asked.value && <><Range quote={asked.value}/><Answer job={job} quote={asked.value} done={done}/></>}
                {asked.value?.state !== "accepted" && <Ask job={job} quote={asked.value} currency={said["currency"] as string} log={log} done={done}/>}
                {asked.value?.state === "accepted" && <Deeper word={t.quote.otherwise}><p class="hint">{t.quote.otherwise_how}</p><Ask job={job} quote={asked.value} currency={said["currency"] as string} log={log} done={done}/></Deeper>}
                <p class="after"><Button quiet onClick={() => set_prices(true)}>{t.quote.prices}</Button></p>
            </Told>}
    </Told>;
}

add_step({
    name: "quote", of: "job", screen: QuoteStep,
    done: job => job.quotes.length > 0 || last_of(job, "quote") !== null,
});
