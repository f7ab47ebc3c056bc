// What the shop asks: said once, kept in the shop, shown here and in the settings. What was said last on this device can be taken back as
// long as nobody has changed the prices since.
import type {JSX} from "preact";
import {Refused, run} from "../api/api";
import {useDraft} from "../job/draft";
import type {Asked} from "../shell/ask";
import {useAsked, useDoing} from "../shell/ask";
import {Button, Deeper, Field, Form, Many, Problem} from "../shell/ui";
import type {Document} from "../job/job";
import type {Said} from "../settings/said";
import {UNSAID, useSaid} from "../settings/said";
import {t} from "../words/words";

export interface PricingAnswer {
    pricing: Document | null;
}

/** null inside: the shop has said no prices yet. */
export const usePricing = (): Asked<PricingAnswer> => useAsked(async () => {
    try {
        return {pricing: (await run<Document>("shop pricing")).reply};
    } catch (error) {
        if (error instanceof Refused && (error.id === "pricing-none" || error.id === "pricing-currency-first")) return {pricing: null};
        throw error;
    }
}, "pricing");

const KEYS: Record<string, string> = {hour: "hour_minor", overhead: "overhead_hour_minor", least: "least_minor", call_out_price: "call_out_minor",
    per_km: "travel_minor_per_km", consumables: "consumables_minor_per_m2"};

function digits_of(currency: string): number {
    try {
        return new Intl.NumberFormat("en", {style: "currency", currency}).resolvedOptions().maximumFractionDigits ?? 2;
    } catch {
        return 2;
    }
}

/** What is kept, as it would be typed. */
function as_written(pricing: Document | null): Record<FieldName, string> {
    const empty = Object.fromEntries(FIELDS.map(name => [name, ""])) as Record<FieldName, string>;
    if (!pricing) return empty;
    const digits = digits_of(pricing["currency"]);
    for (const [name, key] of Object.entries(KEYS)) empty[name as FieldName] = (pricing[key] / 10 ** digits).toFixed(digits);
    return {...empty, margin: String(pricing["margin_ppm"] / 1e4), tax: String(pricing["tax_ppm"] / 1e4), shop_name: pricing["name"] ?? ""};
}

const FIELDS = ["hour", "overhead", "margin", "tax", "least", "call_out_price", "per_km", "consumables", "shop_name"] as const;
type FieldName = typeof FIELDS[number];
const ARGUMENTS: Record<FieldName, string> = {hour: "--hour", overhead: "--overhead", margin: "--margin", tax: "--tax", least: "--least",
    call_out_price: "--call-out", per_km: "--per-km", consumables: "--consumables", shop_name: "--name"};
const UNITS: Partial<Record<FieldName, string>> = {margin: "%", tax: "%"};

type Written = Record<FieldName, string> & {currency: string; gross: "gross"[]};

const as_form = (pricing: Document | null): Written =>
    ({...as_written(pricing), currency: (pricing?.["currency"] ?? "EUR") as string, gross: pricing?.["prices"] === "gross" ? ["gross"] : []});

/** When they were changed last, as the program wants it back. */
const changed_of = (pricing: Document | null): string => pricing?.["currency"] ? pricing["changed"] as string : UNSAID;

/** Turns the prices of `before` into those of `after`: only what differs is sent, so that what another phone has said of the rest stays. */
async function turn(before: Document | null, after: Written): Promise<Document> {
    const now = as_form(before), changed = FIELDS.filter(name => after[name].trim() && (after.currency !== now.currency || after[name].trim() !== now[name]));
    return (await run<Document>("shop pricing", {...(after.currency !== before?.["currency"] ? {"--currency": after.currency.trim().toUpperCase()} : {}),
        ...Object.fromEntries(changed.map(name => [ARGUMENTS[name], after[name].trim().replace(name === "shop_name" ? "" : ",", name === "shop_name" ? "" : ".")])), "--prices": after.gross.length ? "gross" : "net", "--unchanged-since": changed_of(before)})).reply;
}

const take_back = async (seen: Document): Promise<Document> => (await run<Document>("shop pricing", {"--take-back": true, "--unchanged-since": changed_of(seen)})).reply;

/** What was said last can be taken back; what was said at all, by saying nothing again. */
export function usePricesSaid({value, again}: Asked<PricingAnswer>): Said<Document | null> {
    const pricing = value?.pricing ?? null;
    return useSaid<Document | null>("prices", () => value ? changed_of(pricing) : undefined,
        async (_key, to) => ({was: pricing, changed: changed_of(to ? await turn(pricing, as_form(to)) : await take_back(pricing!))}), again);
}

interface PricesProps {
    pricing: Document | null;
    said: Said<Document | null>;
    kept(): Promise<void>;
    again(): Promise<void>;
}

export function Prices({pricing, said, kept, again}: PricesProps): JSX.Element {
    const before = as_form(pricing);
    const [typed, set_typed, forget] = useDraft<Partial<typeof before>>("prices", {}), form = {...before, ...typed}, {currency, gross} = form;
    const set = (one: Partial<typeof before>): void => set_typed({...typed, ...one});
    const doing = useDoing();
    const field = (name: FieldName): JSX.Element =>
        <Field label={t.quote[name]} unit={UNITS[name] ?? (name === "shop_name" ? "" : currency)} value={form[name]} mode={name === "shop_name" ? "text" : "decimal"}
            set={value => set({[name]: value})}/>;
    const send = (): void => void doing.go(async () => {
        try {
            said.note("prices", t.quote.prices_kept, pricing, changed_of(await turn(pricing, form)));
        } catch (error) { // another phone was first: what it said is shown, what was typed here stays in its fields
            await again();
            throw error;
        }
        forget();
        await kept();
    });
    return <Form send={send}>
        <Field label={t.quote.currency} value={currency} set={currency => set({currency})} needed/>
        {field("hour")}{field("overhead")}{field("margin")}{field("tax")}
        <Deeper word={t.more}>
            {field("least")}{field("call_out_price")}{field("per_km")}{field("consumables")}{field("shop_name")}
            <Many label={t.quote.tax} value={gross} set={gross => set({gross})} from={[{value: "gross" as const, word: t.quote.gross}]}/>
        </Deeper>
        <Problem text={doing.error}/>
        <Button main submit busy={doing.busy}>{t.quote.keep_prices}</Button>
    </Form>;
}
