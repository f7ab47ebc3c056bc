// Price lists of trade customers: what a task costs them instead of hours. A price holds from a day on; the earlier one stays in the book.
import type {JSX} from "preact";
import {useState} from "preact/hooks";
import {run, run_once} from "../api/api";
import {useDraft} from "../job/draft";
import type {Asked} from "../shell/ask";
import {usePricing} from "../quote/prices";
import {useAsked, useDoing} from "../shell/ask";
import {money} from "../shell/money";
import {Button, Choice, day, Deeper, Field, Form, Note, Problem, Told, Undo} from "../shell/ui";
import {t} from "../words/words";
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
}

const PERS = ["job", "m2", "dm", "spot", "colour"] as const;
type Per = typeof PERS[number];

export const useLists = (): Asked<PriceList[]> => useAsked(async () => (await run<{lists: PriceList[]}>("price list")).reply.lists, "lists");

interface ItemProps {
    list: PriceList;
    item: {item: string; name: string};
    done(): Promise<void>;
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

function OneItem({list, item: {item}, done}: ItemProps): JSX.Element {
    const now = now_asked(list, item), [was, set_was] = useState<{price: Price | null; from: string} | null>(null), doing = useDoing();
    const [form, set, forget] = useDraft<PriceForm>(`price ${list.name} ${item}`, {amount: "", per: "", from: "", words: ""}), per = form.per || now?.per || "job";
    const ask = (amount: string, per: Per, more: Record<string, string>): Promise<boolean> => doing.go(async () => {
        await run_once("price set", {LIST: list.id || list.name, ITEM: item, AMOUNT: amount, ...(amount ? {"--per": per} : {}), ...more});
        forget();
        await done();
    });
    const keep = (amount: string): void => void ask(amount, per, {"--from": form.from, "--words": form.words.trim()}).then(went => went && set_was({price: now, from: form.from}));
    const undo = (): Promise<void> => ask(was!.price ? plain(was!.price, list.currency) : "", was!.price?.per ?? "job", {"--from": was!.from}).then(went => void (went && set_was(null)));
    return <Form send={() => form.amount.trim() && keep(form.amount.trim().replace(",", "."))}>
        <Field label={t.shop.amount} unit={list.currency} mode="decimal" value={form.amount} set={amount => set({...form, amount})}/>
        <Choice<Per> label={t.shop.per} value={per} set={per => set({...form, per})} from={PERS.map(value => ({value, word: t.shop.pers[value]!}))}/>
        <Field label={t.shop.from} hint={t.shop.from_hint} type="date" value={form.from} set={from => set({...form, from})}/>
        <Field label={t.shop.why} value={form.words} set={words => set({...form, words})}/>
        <Problem text={doing.error}/>
        {was && <Undo word={t.kept} undo={undo}/>}
        <div class="row">
            <Button submit busy={doing.busy} disabled={!form.amount.trim()}>{t.save}</Button>
            {now && <Button busy={doing.busy} onClick={() => keep("")}>{t.shop.by_hour_again}</Button>}
        </div>
    </Form>;
}

function OneList({list, items, done}: {list: PriceList; items: {item: string; name: string}[]; done(): Promise<void>}): JSX.Element {
    const asks = (item: string): string => {
        const price = now_asked(list, item);
        return price ? `${money(price.minor, list.currency)} ${t.shop.pers[price.per]}, ${t.shop.since(day(price.from))}` : t.shop.by_hour;
    };
    return <section>
        <p>{list.customers.length ? t.shop.list_of(list.customers) : t.shop.list_of_none}</p>
        {items.map(item => <Deeper key={item.item} word={`${item.name}: ${asks(item.item)}`} lazy><OneItem list={list} item={item} done={done}/></Deeper>)}
    </section>;
}

/** A list begins with its first price. */
function NewList({known, currency, begin}: {known: PriceList[]; currency: string; begin(list: PriceList): void}): JSX.Element {
    const [name, set_name] = useState("");
    const taken = known.some(one => one.name === name.trim());
    return <Form send={() => {
        if (!name.trim() || taken) return;
        begin({id: "", name: name.trim(), currency, customers: [], prices: []});
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
    return <Told asked={asked}><Told asked={tasks}>
        <p>{t.shop.lists_how}</p>
        {lists.length === 0 && !fresh && <p class="empty">{t.shop.no_lists}</p>}
        {fresh && <Note><p role="status">{t.shop.list_begun(fresh.name)}</p></Note>}
        {[...lists, ...(fresh ? [fresh] : [])].map(list => <Deeper key={list.name} word={list.name} open={begun?.name === list.name || lists.length === 1}>
            <OneList list={list} items={items} done={asked.again}/></Deeper>)}
        <h2>{t.shop.another_list}</h2>
        <NewList known={lists} currency={pricing.value?.pricing?.["currency"] ?? "EUR"} begin={begin}/>
    </Told></Told>;
}
