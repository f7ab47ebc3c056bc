import type {JSX} from "preact";
import {useEffect, useState} from "preact/hooks";
import type {Asked} from "../api/operations";
import {run, run_once} from "../api/api";
import {useAsked, useDoing} from "../shell/ask";
import {go, usePlace} from "../shell/place";
import {Button, Deeper, Field, Form, Link, Problem, Screen} from "../shell/ui";
import {t} from "../words/words";
import type {Customer, Job} from "./job";
import {load_job} from "./job";
import {useDraft} from "./draft";
import {usePaused} from "./list";

const lines = (text: string): string[] => text.split(/[\n,;]/).map(line => line.trim()).filter(Boolean);

const EMPTY = {title: "", customer: "", telephone: "", email: "", address: "", pieces: "", colours: "", due: "", place: "", words: "", cause: ""};

/** The job that came back, as the new one begins. */
const begun_from = (job: Job): typeof EMPTY => ({...EMPTY, title: job.title, customer: job.customer?.name ?? "", pieces: job.pieces.map(one => one.name).join("\n"), colours: job.colours.map(one => one.name).join("\n"), place: job.place});

export function NewJob(): JSX.Element {
    const back = usePlace().query.get("back"), [draft, set, forget] = useDraft(back ? `return of ${back}` : "new job", EMPTY);
    const [tried, set_tried] = useState(false);
    const doing = useDoing();
    const typed = usePaused(draft.customer.trim());
    const customers = useAsked(async () => (await run<{customers: Customer[]}>("customer list", {"--words": typed, "--top": 12})).reply.customers, typed, true);
    const before = useAsked(async () => back ? load_job(back) : null, back);
    useEffect(() => {
        if (before.value && !draft.title) set(begun_from(before.value));
    }, [before.value]);
    const known = customers.value?.find(one => one.name === draft.customer.trim());
    const field = (key: keyof typeof EMPTY) => ({label: t.new_job[key], value: draft[key], set: (value: string) => set({...draft, [key]: value})});
    const send = (): void => {
        set_tried(true);
        if (!draft.title.trim()) return;
        void doing.go(async () => {
            const args: Asked["job new"] = {
                "--title": draft.title.trim(), "--customer": draft.customer.trim(), "--piece": lines(draft.pieces),
                "--colour": lines(draft.colours), "--due": draft.due, "--place": draft.place.trim(), "--words": draft.words.trim(),
            };
            if (before.value) Object.assign(args, {"--return-of": before.value.id, "--cause": draft.cause.trim()});
            if (draft.customer.trim()) Object.assign(args, // of a customer who is in the book they change nothing

                {"--telephone": draft.telephone.trim(), "--email": draft.email.trim(), "--address": draft.address.trim()});
            const {reply} = await run_once<{number: number}>("job new", args);
            forget();
            go(`/job/${reply.number}`, true);
        });
    };
    return <Screen title={t.jobs.new_one} above={<p class="above"><Link class="back" to="/">{t.places.jobs}</Link></p>}>
        <Form send={send}>
            <Problem text={before.error}/>
            {before.value && <><p>{t.about.return_of(before.value.number)}</p><Field {...field("cause")}/></>}
            <Field {...field("title")} hint={t.new_job.title_hint} needed/>
            <Field {...field("customer")} hint={t.new_job.customer_hint} list={customers.value?.filter(one => !one.erased).map(one => one.name) ?? []}/>
            {draft.customer.trim() && !known && customers.value && <Deeper word={t.new_job.reach}>
                <Field {...field("telephone")} type="tel" mode="tel"/>
                <Field {...field("email")} type="email" mode="email"/>
                <Field {...field("address")} lines={2}/>
            </Deeper>}
            <Field {...field("pieces")} hint={t.new_job.pieces_hint} lines={2}/>
            <Field {...field("colours")} hint={t.new_job.colours_hint} lines={2}/>
            {(lines(draft.colours).length > 1 || (lines(draft.colours).length > 0 && lines(draft.pieces).length > 1)) && <p class="hint">{t.new_job.parts_hint}</p>}
            <Field {...field("due")} type="date"/>
            <Field {...field("place")} hint={t.new_job.place_hint}/>
            <Field {...field("words")} lines={2}/>
            <Problem text={doing.error ?? (tried && !draft.title.trim() ? t.new_job.title_needed : null)}/>
            <Button main submit busy={doing.busy}>{t.new_job.send}</Button>
        </Form>
    </Screen>;
}
