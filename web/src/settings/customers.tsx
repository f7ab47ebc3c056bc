// The customers: how they are reached, whether they are of the trade, and by which price list.
import type {JSX} from "preact";
import {useState} from "preact/hooks";
import type {Asked} from "../api/operations";
import {run, run_once} from "../api/api";
import {useDraft} from "../job/draft";
import type {Customer} from "../job/job";
import {usePaused} from "../job/list";
import {useAsked, useDoing} from "../shell/ask";
import {Button, Choice, Deeper, Field, Form, Problem, Told} from "../shell/ui";
import {t} from "../words/words";
import type {PriceList} from "./lists";
import {useLists} from "./lists";
import type {Said} from "./said";
import {useSaid} from "./said";

interface Known extends Customer {
    price_list: string | null;
    changed: string;
}

const MOST = 24, NONE = "none";
const TEXTS = ["name", "telephone", "email", "address", "words"] as const;
type Text = typeof TEXTS[number];
type CustomerForm = Record<Text, string> & {trade: "yes" | "no"; price_list: string};

const EMPTY: CustomerForm = {name: "", telephone: "", email: "", address: "", words: "", trade: "no", price_list: NONE};
const form_of = (one: Known): CustomerForm =>
    ({name: one.name, telephone: one.telephone, email: one.email, address: one.address, words: one.words, trade: one.trade ? "yes" : "no", price_list: one.price_list ?? NONE});

/** What turns `before` into `after`, as customer change takes it. */
function changes(before: CustomerForm, after: CustomerForm): Partial<Asked["customer change"]> {
    const args: Partial<Asked["customer change"]> = {}, changed = TEXTS.filter(name => after[name].trim() !== before[name]), gone = changed.filter(name => name !== "name" && !after[name].trim());
    for (const name of changed) if (after[name].trim()) args[`--${name}`] = after[name].trim();
    if (gone.length) args["--clear"] = gone;
    if (after.trade !== before.trade || after.price_list !== before.price_list) Object.assign(args, {"--trade": after.trade, "--price-list": after.price_list});
    return args;
}

interface FieldsProps {
    form: CustomerForm;
    set(one: Partial<CustomerForm>): void;
    lists: PriceList[];
    /** What the book has, when somebody else has just said it. */
    in_book?: CustomerForm | null;
}

function Fields({form, set, lists, in_book}: FieldsProps): JSX.Element {
    const field = (name: Text) => ({value: form[name], set: (text: string) => set({[name]: text}), in_book: in_book?.[name]});
    return <>
        <Field label={t.shop.name} {...field("name")} needed/>
        <Field label={t.new_job.telephone} type="tel" mode="tel" {...field("telephone")}/>
        <Field label={t.new_job.email} type="email" mode="email" {...field("email")}/>
        <Field label={t.new_job.address} lines={3} {...field("address")}/>
        <Field label={t.shop.about} lines={2} {...field("words")}/>
        <Choice<"yes" | "no"> label={t.shop.trade} value={form.trade} set={trade => set({trade, ...(trade === "no" ? {price_list: NONE} : {})})} from={(["no", "yes"] as const).map(value => ({value, word: t.shop.trades[value]}))}/>
        {form.trade === "yes" && lists.length > 0 && <Choice label={t.shop.price_list} value={form.price_list} set={price_list => set({price_list})}
            from={[{value: NONE, word: t.shop.by_hour}, ...lists.map(one => ({value: one.id, word: one.name}))]}/>}
    </>;
}

const set_customer = async (seen: Known, to: CustomerForm): Promise<string> =>
    (await run<{customers: Known[]}>("customer change", {CUSTOMER: seen.id, ...changes(form_of(seen), to), "--unchanged-since": seen.changed})).reply.customers[0]!.changed;

interface OneProps {
    customer: Known;
    lists: PriceList[];
    said: Said<CustomerForm>;
    again(): Promise<void>;
}

function OneCustomer({customer, lists, said, again}: OneProps): JSX.Element {
    const before = form_of(customer), [typed, set, forget] = useDraft<Partial<CustomerForm>>(`customer ${customer.id}`, {}), form = {...before, ...typed}, doing = useDoing();
    const save = (): void => void doing.go(async () => {
        if (Object.keys(changes(before, form)).length === 0) return forget();
        try {
            said.note(customer.id, t.kept_what(form.name), before, await set_customer(customer, form));
            forget();
        } finally { // another phone was first: what it said is shown, what was typed here stays in its fields
            await again();
        }
    });
    return <Form send={() => form.name.trim() && save()}>
        <Fields form={form} set={one => set({...typed, ...one})} lists={lists} in_book={doing.error ? before : null}/>
        <Problem text={doing.error}/>
        <Button submit busy={doing.busy} disabled={!form.name.trim()}>{t.save}</Button>
    </Form>;
}

function NewCustomer({lists, done}: {lists: PriceList[]; done(): Promise<void>}): JSX.Element {
    const [form, set, forget] = useDraft("new customer", EMPTY), doing = useDoing();
    const send = (): void => void doing.go(async () => {
        const list = form.price_list === NONE ? undefined : form.price_list;
        const {"--name": _, ...rest} = changes(EMPTY, form);
        await run_once("customer add", {NAME: form.name.trim(), ...rest, "--price-list": list});
        forget();
        await done();
    });
    return <Form send={send}>
        <Fields form={form} set={one => set({...form, ...one})} lists={lists}/>
        <Problem text={doing.error}/>
        <Button submit busy={doing.busy} disabled={!form.name.trim()}>{t.shop.add_customer}</Button>
    </Form>;
}

export function ShopCustomers(): JSX.Element {
    const [words, set_words] = useState(""), wanted = usePaused(words.trim()), lists = useLists();
    const asked = useAsked(async () => (await run<{customers: Known[]; more: boolean}>("customer list", {"--words": wanted, "--top": MOST})).reply, wanted, true);
    const customers = asked.value?.customers.filter(one => !one.erased) ?? [], of = (key: string): Known | undefined => customers.find(one => one.id === key);
    const said = useSaid<CustomerForm>("customers", key => of(key)?.changed, async (key, to) => {
        const now = of(key)!;
        return {was: form_of(now), changed: await set_customer(now, to)};
    }, asked.again);
    return <Told asked={asked}><Told asked={lists}>
        <Field label={t.settings.forget_find} type="search" value={words} set={set_words}/>
        {customers.length === 0 && <p class="empty" role="status">{t.settings.customers_none}</p>}
        {customers.map(one => <Deeper key={one.id} word={one.name} lazy><OneCustomer customer={one} lists={lists.value ?? []} said={said} again={asked.again}/></Deeper>)}
        {asked.value?.more && <p class="hint">{t.shop.more_customers}</p>}
        <Deeper word={t.shop.new_customer} lazy><NewCustomer lists={lists.value ?? []} done={asked.again}/></Deeper>
    </Told></Told>;
}
