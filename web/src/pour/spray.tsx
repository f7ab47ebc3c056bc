// What goes into the part of the pot that will be sprayed, and when.
import type {JSX} from "preact";
import type {Asked} from "../api/operations";
import {argument_of} from "../colour/numbers";
import type {Document} from "../job/job";
import {grams} from "../pot/layers";
import {Caution, Choice, Field} from "../shell/ui";
import {t} from "../words/words";

export interface SprayWish {
    spray: string;
    thinner: string;
    slip: string;
    crosslinker: string;
    kind: "unknown" | "isocyanate" | "aziridine";
}

export const NO_SPRAY: SprayWish = {spray: "", thinner: "", slip: "", crosslinker: "", kind: "unknown"};

export const spray_arguments = (wish: SprayWish): Partial<Asked["pour"]> => ({
    "--spray-g": argument_of(wish.spray), "--thinner-percent": argument_of(wish.thinner), "--slip-percent": argument_of(wish.slip),
    "--crosslinker-percent": argument_of(wish.crosslinker), "--crosslinker": argument_of(wish.crosslinker) ? wish.kind : undefined,
});

export function SprayFields({wish, set}: {wish: SprayWish; set(wish: SprayWish): void}): JSX.Element {
    const field = (key: "spray" | "thinner" | "slip" | "crosslinker", unit: string): JSX.Element =>
        <Field label={t.pour.spray[key]} unit={unit} mode="decimal" value={wish[key]} set={value => set({...wish, [key]: value})}/>;
    return <>
        {field("spray", "g")}{field("thinner", "%")}{field("slip", "%")}{field("crosslinker", "%")}
        {wish.crosslinker.trim() && <Choice label={t.pour.spray.kind} value={wish.kind} set={kind => set({...wish, kind})}
            from={(["unknown", "isocyanate", "aziridine"] as const).map(value => ({value, word: t.pour.spray.kinds[value]}))}/>}
    </>;
}

interface SprayReply {
    spray_g: number;
    keep_g: number;
    additions: {what: keyof typeof t.pour.spray.what; percent: number; g: number}[];
}

export function SprayPlan({reply}: {reply: Document}): JSX.Element | null {
    const spray = reply["spray"] as SprayReply | null;
    return spray && <section><h2>{t.pour.spray.title}</h2><p>{t.pour.spray.after(grams(spray.spray_g), grams(spray.keep_g))}</p>
        <dl class="figures">{spray.additions.map(one => <><dt key={one.what}>{t.pour.spray.what[one.what] ?? one.what}</dt><dd>{grams(one.g)} g</dd></>)}</dl>
    </section>;
}

export function Cautions({reply}: {reply: Document}): JSX.Element | null {
    const cautions = (reply["cautions"] as {id: string; text: string}[] | undefined) ?? [];
    return cautions.length === 0 ? null : <Caution>{cautions.map(caution => <p key={caution.id}>{caution.text}</p>)}</Caution>;
}
