// The customers: how they are reached, whether they are of the trade, and by which price list.
import type {JSX} from "preact";
import {useState} from "preact/hooks";
import type {Arguments} from "../api/api";
import {run, run_once} from "../api/api";
import {useDraft} from "../job/draft";
import type {Customer} from "../job/job";
import {usePaused} from "../job/list";
import {useAsked, useDoing} from "../shell/ask";
import {Button, Choice, Deeper, Field, Form, Problem, Told, Undo} from "../shell/ui";
import {t} from "../words/words";
import type {PriceList} from "./lists";
import {useLists} from "./lists";

interface Known extends Customer {
    price_list: string | null;
}

const MOST = 24, NONE = "none";
const TEXTS = ["name", "telephone", "email", "address", "words"] as const;
type Text = typeof TEXTS[number];
type CustomerForm = Record<Text, string> & {trade: "yes" | "no"; price_list: string};

const EMPTY: CustomerForm = {name: "", telephone: "", email: "", address: "", words: "", trade: "no", price_list: NONE};
const form_of = (one: Known): CustomerForm =>
    ({name: one.name, telephone: one.telephone, email: one.email, address: one.address, words: one.words, trade: one.trade ? "yes" : "no", price_list: one.price_list ?? NONE});

/** What turns `before` into `after`, as customer change takes it. */
function changes(before: CustomerForm, after: CustomerForm): Arguments {
    const args: Arguments = {}, changed = TEXTS.filter(name => after[name].trim() !== before[name]), gone = changed.filter(name => name !== "name" && !after[name].trim());
    for (const name of changed) if (after[name].trim()) args[`--${name}`] = after[name].trim();
    if (gone.length) args["--clear"] = gone;
    if (after.trade !== before.trade || after.price_list !== before.price_list) Object.assign(args, {"--trade": after.trade, "--price-list": after.price_list});
    return args;
}

function Fields({form, set, lists}: {form: CustomerForm; set(one: Partial<CustomerForm>): void; lists: PriceList[]}): JSX.Element {
    return <>
        <Field label={t.shop.name} value={form.name} set={name => set({name})} needed/>
        <Field label={t.new_job.telephone} type="tel" mode="tel" value={form.telephone} set={telephone => set({telephone})}/>
        <Field label={t.new_job.email} type="email" mode="email" value={form.email} set={email => set({email})}/>
        <Field label={t.new_job.address} lines={3} value={form.address} set={address => set({address})}/>
        <Field label={t.shop.about} lines={2} value={form.words} set={words => set({words})}/>
        <Choice<"yes" | "no"> label={t.shop.trade} value={form.trade} set={trade => set({trade, ...(trade === "no" ? {price_list: NONE} : {})})} from={(["no", "yes"] as const).map(value => ({value, word: t.shop.trades[value]}))}/>
        {form.trade === "yes" && lists.length > 0 && <Choice label={t.shop.price_list} value={form.price_list} set={price_list => set({price_list})}
            from={[{value: NONE, word: t.shop.by_hour}, ...lists.map(one => ({value: one.id, word: one.name}))]}/>}
    </>;
}

function OneCustomer({customer, lists, done}: {customer: Known; lists: PriceList[]; done(): Promise<void>}): JSX.Element {
    const before = form_of(customer), [typed, set, forget] = useDraft<Partial<CustomerForm>>(`customer ${customer.id}`, {}), form = {...before, ...typed};
    const [was, set_was] = useState<CustomerForm | null>(null), doing = useDoing();
    const turn = (from: CustomerForm, to: CustomerForm): Promise<boolean> => doing.go(async () => {
        const args = changes(from, to);
        if (Object.keys(args).length) await run("customer change", {CUSTOMER: customer.id, ...args});
        forget();
        await done();
    });
    return <Form send={() => void (form.name.trim() && turn(before, form).then(went => went && set_was(before)))}>
        <Fields form={form} set={one => set({...typed, ...one})} lists={lists}/>
        <Problem text={doing.error}/>
        {was && <Undo word={t.kept} undo={() => turn(before, was).then(() => set_was(null))}/>}
        <Button submit busy={doing.busy} disabled={!form.name.trim()}>{t.save}</Button>
    </Form>;
}

function NewCustomer({lists, done}: {lists: PriceList[]; done(): Promise<void>}): JSX.Element {
    const [form, set, forget] = useDraft("new customer", EMPTY), doing = useDoing();
    const send = (): void => void doing.go(async () => {
        const list = form.price_list === NONE ? undefined : form.price_list;
        await run_once("customer add", {NAME: form.name.trim(), ...changes(EMPTY, form), "--name": undefined, "--price-list": list});
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
    const customers = asked.value?.customers.filter(one => !one.erased) ?? [];
    return <Told asked={asked}><Told asked={lists}>
        <Field label={t.settings.forget_find} type="search" value={words} set={set_words}/>
        {customers.length === 0 && <p class="empty" role="status">{t.settings.customers_none}</p>}
        {customers.map(one => <Deeper key={one.id} word={one.name} lazy><OneCustomer customer={one} lists={lists.value ?? []} done={asked.again}/></Deeper>)}
        {asked.value?.more && <p class="hint">{t.shop.more_customers}</p>}
        <Deeper word={t.shop.new_customer} lazy><NewCustomer lists={lists.value ?? []} done={asked.again}/></Deeper>
    </Told></Told>;
}
