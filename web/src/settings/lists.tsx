// Price lists of trade customers: what a task costs them instead of hours. A price holds from a day on; the earlier one stays in the book.
import type {JSX} from "preact";
import {useState} from "preact/hooks";
import {run, run_once} from "../api/api";
import {useDraft} from "../job/draft";
import type {Asked} from "../shell/ask";
import {usePricing} from "../quote/prices";
import {useAsked, useDoing} from "../shell/ask";
import {money} from "../shell/money";
import {day} from "../shell/time";
import {Button, Choice, Deeper, Field, Form, Note, Problem, Told} from "../shell/ui";
import {t} from "../words/words";
import type {Said} from "./said";
import {since, useSaid} from "./said";
import {useTasks} from "./tasks";

interface Price {
    item: string;
    name: string;
    per: Per;
    minor: number;
    from: string;
    words: string;
}

export interface PriceList {
    id: string;
    name: string;
    currency: string;
    customers: string[];
    prices: Price[];
    /** When each item was spoken of last. */
    changed: Record<string, string>;
}

const PERS = ["job", "m2", "dm", "spot", "colour"] as const;
type Per = typeof PERS[number];

export const useLists = (): Asked<PriceList[]> => useAsked(async () => (await run<{lists: PriceList[]}>("price list")).reply.lists, "lists");

interface ItemProps {
    list: PriceList;
    item: {item: string; name: string};
    said: Said<Asks>;
    again(): Promise<void>;
}

interface PriceForm {
    amount: string;
    /** Empty: as it was. */
    per: Per | "";
    from: string;
    words: string;
}

const digits_of = (currency: string): number => new Intl.NumberFormat("en", {style: "currency", currency}).resolvedOptions().maximumFractionDigits ?? 2;
const plain = (price: Price, currency: string): string => (price.minor / 10 ** digits_of(currency)).toFixed(digits_of(currency));
const now_asked = (list: PriceList, item: string): Price | null => list.prices.find(one => one.item === item) ?? null;

/** What is asked for an item, as it was said: "" is by the hour. */
interface Asks {
    amount: string;
    per: Per;
    from: string;
    words: string;
}

const asks_now = (list: PriceList, item: string, from: string): Asks => {
    const price = now_asked(list, item);
    return {amount: price ? plain(price, list.currency) : "", per: price?.per ?? "job", from, words: price?.words ?? ""};
};

async function set_price(list: PriceList, item: string, {amount, per, from, words}: Asks): Promise<string | null> {
    const {lists: [after]} = (await run_once<{lists: PriceList[]}>("price set", {LIST: list.id || list.name, ITEM: item, AMOUNT: amount, ...(amount ? {"--per": per} : {}), "--from": from, "--words": words,
        "--unchanged-since": since(list.changed[item])})).reply;
    return after?.changed[item] ?? null;
}

function OneItem({list, item: {item, name}, said, again}: ItemProps): JSX.Element {
    const now = now_asked(list, item), doing = useDoing();
    const [form, set, forget] = useDraft<PriceForm>(`price ${list.name} ${item}`, {amount: "", per: "", from: "", words: ""}), per = form.per || now?.per || "job";
    const keep = (amount: string): void => void doing.go(async () => {
        try {
            const changed = await set_price(list, item, {amount, per, from: form.from, words: form.words.trim()});
            said.note(`${list.name}\n${item}`, t.kept_what(name), asks_now(list, item, form.from), changed);
            forget();
        } finally {
            await again();
        }
    });
    return <Form send={() => form.amount.trim() && keep(form.amount.trim().replace(",", "."))}>
        <Field label={t.shop.amount} unit={list.currency} mode="decimal" value={form.amount} set={amount => set({...form, amount})}/>
        <Choice<Per> label={t.shop.per} value={per} set={per => set({...form, per})} from={PERS.map(value => ({value, word: t.shop.pers[value]!}))}/>
        <Field label={t.shop.from} hint={t.shop.from_hint} type="date" value={form.from} set={from => set({...form, from})}/>
        <Field label={t.shop.why} value={form.words} set={words => set({...form, words})}/>
        <Problem text={doing.error}/>
        <div class="row">
            <Button submit busy={doing.busy} disabled={!form.amount.trim()}>{t.save}</Button>
            {now && <Button busy={doing.busy} onClick={() => keep("")}>{t.shop.by_hour_again}</Button>}
        </div>
    </Form>;
}

function OneList({list, items, ...rest}: Omit<ItemProps, "item"> & {items: ItemProps["item"][]}): JSX.Element {
    const asks = (item: string): string => {
        const price = now_asked(list, item);
        return price ? `${money(price.minor, list.currency)} ${t.shop.pers[price.per]}, ${t.shop.since(day(price.from))}` : t.shop.by_hour;
    };
    return <section>
        <p>{list.customers.length ? t.shop.list_of(list.customers) : t.shop.list_of_none}</p>
        {items.map(item => <Deeper key={item.item} word={`${item.name}: ${asks(item.item)}`} lazy><OneItem list={list} item={item} {...rest}/></Deeper>)}
    </section>;
}

/** A list begins with its first price. */
function NewList({known, currency, begin}: {known: PriceList[]; currency: string; begin(list: PriceList): void}): JSX.Element {
    const [name, set_name] = useState("");
    const taken = known.some(one => one.name === name.trim());
    return <Form send={() => {
        if (!name.trim() || taken) return;
        begin({id: "", name: name.trim(), currency, customers: [], prices: [], changed: {}});
        set_name("");
    }}>
        <Field label={t.shop.new_list} hint={t.shop.new_list_hint} value={name} set={set_name}/>
        <Problem text={taken ? t.shop.list_taken : null}/>
        <Button submit disabled={!name.trim() || taken}>{t.shop.begin_list}</Button>
    </Form>;
}

export function ShopLists(): JSX.Element {
    const asked = useLists(), tasks = useTasks(), pricing = usePricing(), [begun, begin] = useState<PriceList | null>(null);
    const items = [...(tasks.value ?? []).map(one => ({item: one.task, name: one.name})), {item: "km", name: t.shop.km}, {item: "call-out", name: t.shop.call_out}];
    const lists = asked.value ?? [], fresh = begun && !lists.some(one => one.name === begun.name) ? begun : null;
    const said = useSaid<Asks>("lists", key => {
        const [name, item] = key.split("\n"), list = lists.find(one => one.name === name);
        return list && (list.changed[item!] ?? null);
    }, async (key, to) => {
        const [name, item] = key.split("\n"), list = lists.find(one => one.name === name)!;
        return {was: asks_now(list, item!, to.from), changed: await set_price(list, item!, to)};
    }, asked.again);
    return <Told asked={asked}><Told asked={tasks}>
        <p>{t.shop.lists_how}</p>
        {lists.length === 0 && !fresh && <p class="empty">{t.shop.no_lists}</p>}
        {fresh && <Note><p role="status">{t.shop.list_begun(fresh.name)}</p></Note>}
        {[...lists, ...(fresh ? [fresh] : [])].map(list => <Deeper key={list.name} word={list.name} open={begun?.name === list.name || lists.length === 1}>
            <OneList list={list} items={items} said={said} again={asked.again}/></Deeper>)}
        <h2>{t.shop.another_list}</h2>
        <NewList known={lists} currency={pricing.value?.pricing?.["currency"] ?? "EUR"} begin={begin}/>
    </Told></Told>;
}
