// The step "coats": how much, how many, how to lay them, and whether the air is right.
import type {JSX} from "preact";
import {useState} from "preact/hooks";
import type {Files, Ran} from "../api/api";
import type {Asked} from "../api/operations";
import {paper, run} from "../api/api";
import {useDraft} from "../colour/draft";
import {argument_of, number_of} from "../colour/numbers";
import {Notes} from "../colour/reading_view";
import {save_blob} from "../colour/save";
import type {Colour, Document, Entry, Job} from "../job/job";
import {last_of} from "../job/job";
import {pots_at_hand} from "../dabs/pot";
import {area_of, by_of, useSolids} from "../recipe/how_much";
import type {Match} from "../recipe/recipe";
import {useDoing} from "../shell/ask";
import {Button, Caution, Choice, Deeper, Field, Form, Many, Problem} from "../shell/ui";
import type {StepProps} from "../steps/steps";
import {add_step} from "../steps/steps";
import {t} from "../words/words";
import {FilmPicture} from "./film";
import "./coats.css";

const BY = ["sponge", "brush", "airbrush", "mini-gun", "gun"] as const;
const EDGES = ["seam", "panel", "fade"] as const;

export interface CoatsWish {
    area: string;
    film: string;
    solids: string;
    by: typeof BY[number];
    coats: string;
    thinner: string;
    kind: "water" | "solvent";
    edges: (typeof EDGES[number])[];
    fade: string;
    flash: string;
    air: string;
    rh: string;
    surface: string;
    start: string;
}

const EMPTY: CoatsWish = {area: "", film: "", solids: "", by: "gun", coats: "", thinner: "", kind: "water", edges: [], fade: "", flash: "10", air: "", rh: "", surface: "", start: ""};

const has_air = (w: CoatsWish): boolean => [w.air, w.rh, w.surface].every(text => number_of(text) !== null);

export function coats_arguments(w: CoatsWish, with_recipe: boolean): Asked["coats"] {
    const air = has_air(w) ? {"--air-c": argument_of(w.air), "--rh": argument_of(w.rh), "--surface-c": argument_of(w.surface)} : {};
    const percent = (text: string): number | undefined => number_of(text) === null ? undefined : Number((number_of(text)! / 100).toFixed(6));
    return {
        "--area-m2": argument_of(w.area), "--film-um": argument_of(w.film), "--solids-volume": percent(w.solids), "--by": w.by,
        "--coats": argument_of(w.coats), "--thinner": percent(w.thinner), "--thinner-kind": w.kind, "--edge": w.edges.length ? w.edges : undefined,
        "--fade-length-mm": w.edges.includes("fade") ? argument_of(w.fade) : undefined, "--flash-min": argument_of(w.flash),
        "--start": w.start.trim() || undefined, "--recipe": with_recipe ? "recipe.json#1" : undefined, ...air,
    };
}

interface FormProps {
    wish: CoatsWish;
    set(wish: CoatsWish): void;
    send(): void;
    busy: boolean;
    error: string | null;
    film_hint: string;
    area_hint: string;
}

function Wish({wish, set: put, send, busy, error, film_hint, area_hint}: FormProps): JSX.Element {
    const set = (change: Partial<CoatsWish>): void => put({...wish, ...change});
    const field = (key: keyof typeof t.coats.fields, unit: string, hint?: string): JSX.Element =>
        <Field label={t.coats.fields[key]} unit={unit} mode={key === "start" ? "text" : "decimal"} value={wish[key]}
            set={value => set({[key]: value})} {...hint ? {hint} : {}}/>;
    const ready = [wish.area, wish.film, wish.solids].every(text => (number_of(text) ?? 0) > 0) && (!wish.edges.includes("fade") || (number_of(wish.fade) ?? 0) > 0);
    return <Form send={send}>
        {field("area", "m²", area_hint)}{field("film", "µm", film_hint)}{field("solids", "%", t.coats.solids_hint)}
        <Choice label={t.coats.by} value={wish.by} set={by => set({by})} from={BY.map(value => ({value, word: t.coats.bys[value]}))}/>
        <Many label={t.coats.edge} value={wish.edges} set={edges => set({edges})} from={EDGES.map(value => ({value, word: t.coats.edges[value]}))}/>
        {wish.edges.includes("fade") && field("fade", "mm")}
        <h2>{t.coats.air_title}</h2>
        <p class="hint">{t.coats.air_hint}</p>
        <div class="three">{field("air", "°C")}{field("rh", "%")}{field("surface", "°C")}</div>
        <Deeper word={t.coats.more}>
            {field("coats", t.coats.count)}{field("thinner", "%")}
            {wish.thinner.trim() && <Choice label={t.coats.thinned_with} value={wish.kind} set={kind => set({kind})}
                from={(["water", "solvent"] as const).map(value => ({value, word: t.coats.kinds[value]}))}/>}
            {field("flash", "min", t.coats.flash_hint)}{field("start", "hh:mm")}
        </Deeper>
        <Problem text={error}/>
        <Button submit main busy={busy} disabled={!ready}>{t.coats.reckon}</Button>
    </Form>;
}

interface Air {
    go: boolean;
    reason: string;
}

/** Go or wait: the word first, then why. */
export const AirSays = ({air}: {air: Air}): JSX.Element => <p class="air-says" role="status"><b>{air.go ? t.coats.go : t.coats.wait}</b> {air.reason}</p>;

function Figures({reply}: {reply: Document}): JSX.Element {
    const gun = reply["gun"] as Record<string, any> | undefined, made = reply["wet_ml_made_of"] as Record<string, number>;
    const rows: [string, string][] = [
        [t.coats.figures.wet_um, `${(reply["wet_um"] as number).toFixed(0)} µm`], [t.coats.figures.dry_um, `${(reply["dry_um"] as number).toFixed(1)} µm`],
        [t.coats.figures.coat_ml, `${(reply["coat_ml"] as number).toFixed(1)} ml`], [t.coats.figures.transfer, `${Math.round(100 * (reply["transfer"] as number))} %`],
        [t.coats.figures.loss, `${(made["loss_ml"] ?? 0).toFixed(0)} ml`],
    ];
    if (gun?.["speed_m_s"]) rows.push([t.coats.figures.speed, `${gun["speed_m_s"].toFixed(2)} m/s`], [t.coats.figures.step, `${Math.round(gun["step_mm"])} mm`]);
    if (gun?.["distance_mm"]) rows.push([t.coats.figures.distance, `${gun["distance_mm"].join("–")} mm`]);
    return <dl class="figures">{rows.map(([what, figure]) => <><dt key={what}>{what}</dt><dd>{figure}</dd></>)}</dl>;
}

export function coats_sentence(reply: Document): string {
    const ml = (reply["wet_ml"] as number).toFixed(0), g = (reply["wet_g"] as number).toFixed(0), at = reply["hides_at_coat"] as number | null;
    return t.coats.sentence(ml, g, reply["coats"] as number, at);
}

function Plan({reply, match}: {reply: Document; match: Match | null}): JSX.Element {
    const plan = reply["plan"] as {coat: number; flash_s: number; film_um: number; hides: boolean; start_s: number}[];
    const in_pot = reply["in_pot_g"] as number | undefined;
    const wait = Math.round((plan[0]?.flash_s ?? 0) / 60), recipe = match?.recipes[0] ?? null;
    return <>
        <p class="sentence" role="status">{coats_sentence(reply)}</p>
        <FilmPicture coats={plan} to_hide_um={reply["film_um_to_hide"] as number | null} colour={recipe}/>
        {typeof in_pot === "number" && <p>{t.coats.in_pot(in_pot.toFixed(1), Math.floor(in_pot - (reply["paint_g"] as number)))}</p>}
        <p>{t.coats.between(wait, Math.round((reply["total_s"] as number) / 60))}</p>
        <Notes of={reply}/>
        <Deeper word={t.figures}><Figures reply={reply}/></Deeper>
    </>;
}

interface Reckoned {
    reply: Document;
    air: (Document & Air) | null;
}

type PotArguments = Pick<Asked["coats"], "--in-pot-g" | "--density-g-ml">;

/** What was poured, added and taken speaks, and the recipe only of what nobody poured yet. */
function pot_arguments(job: Job, colour: Colour | null, recipe: Entry | null): PotArguments {
    const pots = recipe ? pots_at_hand(job, colour, recipe.at) : null, toners = (recipe?.document as Match | undefined)?.bench.toners ?? {};
    if (!pots) return {};
    const sum = pots.parts.reduce((all, {g}) => all + g, 0), ml = pots.parts.reduce((all, {toner, g}) => all + g / (toners[toner]?.density_g_ml ?? NaN), 0);
    return {"--in-pot-g": Number(pots.g.toFixed(2)), ...ml > 0 ? {"--density-g-ml": Number((sum / ml).toFixed(4))} : {}};
}

async function reckon(wish: CoatsWish, recipe: Entry | null, pot: PotArguments): Promise<Reckoned> {
    const files: Files = recipe ? {"recipe.json": {entry: recipe.id}} : {};
    const {reply} = await run<Document>("coats", {...coats_arguments(wish, recipe !== null), ...pot}, files);
    const air: Ran<Document & Air> | null = has_air(wish) ? await run<Document & Air>("air", {
        "--air-c": argument_of(wish.air), "--rh": argument_of(wish.rh), "--surface-c": argument_of(wish.surface)}) : null;
    return {reply, air: air?.reply ?? null};
}

function film_of(match: Match | null): string {
    const film = (match?.bench["film_um"] as number | null | undefined) ?? match?.recipes[0]?.film_um_to_hide ?? null;
    return film ? String(Math.ceil(film)) : "";
}

function CoatsScreen(p: StepProps): JSX.Element {
    const recipe = last_of(p.job, "recipe", "match", p.colour), match = (recipe?.document ?? null) as Match | null;
    const logged = p.entries.filter(entry => entry.kind === "coats").pop() ?? null, logged_air = p.entries.filter(entry => entry.kind === "air").pop() ?? null;
    const said_area = area_of(p.job, p.colour), pot = pot_arguments(p.job, p.colour, recipe);
    const [solids, keep_solids] = useSolids();
    const [wish, set] = useDraft<CoatsWish>(`coats ${p.job.id} ${p.colour?.id ?? ""}`, {...EMPTY, area: said_area, film: film_of(match), solids, by: by_of(p.job), ...logged?.document["wish"] as object | undefined});
    const [found, set_found] = useState<Reckoned | null>(null), doing = useDoing();
    const send = (): Promise<boolean> => doing.go(async () => {
        keep_solids(wish.solids);
        set_found(await reckon(wish, recipe, pot));
        scrollTo(0, 0);
    });
    const keep = (): Promise<boolean> => doing.go(async () => {
        await p.log({...found!.reply, wish});
        if (found!.air) await p.log(found!.air, {with_last: true});
        set_found(null);
    });
    const print = (): Promise<boolean> => doing.go(async () => {
        const files: Files = recipe ? {"recipe.json": {entry: recipe.id}} : {};
        save_blob(await paper("coats", {...coats_arguments(wish, recipe !== null), ...pot, "--title": p.job.title}, files), "coat-card.pdf");
    });
    const shown = found?.reply ?? logged?.document ?? null, air = found ? found.air : (logged_air?.document as (Document & Air) | undefined) ?? null;
    const form = <Wish wish={wish} set={set} send={() => void send()} busy={doing.busy} error={doing.error} area_hint={said_area && wish.area === said_area ? t.coats.area_from_look : t.coats.area_hint} film_hint={match?.bench["film_um"] ? t.coats.film_from_recipe : t.coats.film_hint}/>;
    if (!shown) return <><p>{t.coats.what}</p>{form}</>;
    return <>
        {air && <AirSays air={air}/>}
        <Plan reply={shown} match={match}/>
        {wish.kind === "solvent" && wish.thinner.trim() !== "" && <Caution><p>{t.coats.ignition}</p></Caution>}
        {found ? <Button main busy={doing.busy} onClick={() => void keep()}>{t.coats.keep}</Button> : <Button main onClick={p.next}>{t.coats.onward}</Button>}
        <Button quiet busy={doing.busy} onClick={() => void print()}>{t.coats.paper}</Button>
        <Deeper word={t.coats.again}>{form}</Deeper>
    </>;
}

add_step({
    name: "coats", of: "colour", screen: CoatsScreen, leads_on: true,
    outcome: (job, colour) => {
        const entry = last_of(job, "coats", "coats", colour);
        return entry ? t.coats.outcome(entry.document["coats"] as number, (entry.document["wet_ml"] as number).toFixed(0)) : last_of(job, "coats", undefined, colour)?.words || null;
    },
});
