// How much it takes, reckoned before the cup is mixed: a second cup is never quite of the first one's colour.
import type {JSX} from "preact";
import {useState} from "preact/hooks";
import type {Asked} from "../api/operations";
import {run} from "../api/api";
import {useDraft} from "../colour/draft";
import {argument_of, number_of} from "../colour/numbers";
import type {Colour, Document, Job} from "../job/job";
import {useDoing} from "../shell/ask";
import {Button, Choice, Deeper, Field, Problem} from "../shell/ui";
import {t} from "../words/words";

type By = NonNullable<Asked["amount"]["--by"]>;
const BY: By[] = ["sponge", "brush", "airbrush", "mini-gun", "gun"];
const CARDS_G = 10; // a sprayed card and some dabs (common practice)

/** What the first look said of the pieces that this colour goes on. */
export function area_of(job: Job, colour: Colour | null): string {
    const pieces = colour?.pieces ?? [], plans = job.entries.filter(entry => entry.step === "look" && entry.kind === "plan" && (!entry.piece || !pieces.length || pieces.includes(entry.piece)));
    const newest = new Map(plans.map(entry => [entry.piece, entry.document["size"]?.area_m2 as number | null | undefined]));
    const area = [...newest.values()].reduce<number>((sum, one) => sum + (one ?? 0), 0);
    return area > 0 ? String(Number(area.toFixed(3))) : "";
}

/** How the first look said that it goes on. */
export const by_of = (job: Job): By => (job.entries.filter(entry => entry.kind === "plan").pop()?.document["seen"]?.by as By | undefined) ?? "gun";

/** Solids by volume, as they were said last on this device: they stand on the product's sheet and are the same next time. */
export const useSolids = (): [string, (solids: string) => void] => useDraft("solids by volume", "");

interface Props {
    job: Job;
    colour: Colour | null;
    /** Dry film, when it was said already. */
    film: string;
    take(batch: string): void;
}

export function HowMuch({job, colour, film: said_film, take}: Props): JSX.Element {
    const [solids, set_solids] = useSolids(), said = area_of(job, colour);
    const [form, set] = useState({area: said, film: said_film || "30", by: by_of(job)}), [reply, set_reply] = useState<Document | null>(null), doing = useDoing();
    const ready = [form.area, form.film, solids].every(text => (number_of(text) ?? 0) > 0);
    const reckon = (): Promise<boolean> => doing.go(async () => {
        const args: Asked["amount"] = {"--area-m2": argument_of(form.area), "--film-um": argument_of(form.film), "--solids-volume": Number((number_of(solids)! / 100).toFixed(6)), "--by": form.by};
        const found = (await run<Document>("amount", args)).reply;
        set_reply(found);
        take(String(Math.ceil((found["paint_g"] as number) + CARDS_G)));
    });
    return <Deeper word={t.recipe.how_much}>
        <Field label={t.coats.fields.area} unit="m²" hint={said && form.area === said ? t.coats.area_from_look : t.coats.area_hint} mode="decimal" value={form.area} set={area => set({...form, area})}/>
        <Field label={t.coats.fields.film} unit="µm" hint={t.recipe.how_much_film} mode="decimal" value={form.film} set={film => set({...form, film})}/>
        <Field label={t.coats.fields.solids} unit="%" hint={t.coats.solids_hint} mode="decimal" value={solids} set={set_solids}/>
        <Choice<By> label={t.coats.by} value={form.by} set={by => set({...form, by})} from={BY.map(value => ({value, word: t.coats.bys[value]}))}/>
        <Problem text={doing.error}/>
        <Button busy={doing.busy} disabled={!ready} onClick={() => void reckon()}>{t.recipe.how_much_reckon}</Button>
        {reply && <p role="status">{t.recipe.how_much_says((reply["paint_ml"] as number).toFixed(0), (reply["paint_g"] as number).toFixed(0), CARDS_G)}</p>}
    </Deeper>;
}
