// The step "dabs": the pot's card or dab is held to the part and the pot is corrected, add-only: by a reading of the card, by words of the
// eye, by a ring of dabs, or by a photograph of dab and part.
import type {JSX} from "preact";
import type {Files, Ran} from "../api/api";
import type {Asked} from "../api/operations";
import {paper, run} from "../api/api";
import {useDraft} from "../colour/draft";
import {argument_of} from "../colour/numbers";
import type {Shelf} from "../colour/shelf";
import {useShelf} from "../colour/shelf";
import {to_step} from "../colour/to_step";
import {save_blob} from "../colour/save";
import {reading_of} from "../colour/steps";
import {useFirstDay} from "../colour/first_day";
import {Photographs, ReadingWays} from "../colour/ways";
import type {Document} from "../job/job";
import {last_of} from "../job/job";
import type {Bench} from "../pot/layers";
import {layers_of, short_name} from "../pot/layers";
import {NamedPot} from "../pot/pot";
import {match_of} from "../recipe/steps";
import type {Match} from "../recipe/recipe";
import {useDoing} from "../shell/ask";
import {moment} from "../shell/time";
import {Button, Choice, Field, Link, Note, Problem, Told} from "../shell/ui";
import type {StepProps} from "../steps/steps";
import {add_step} from "../steps/steps";
import {t} from "../words/words";
import {AdditionView} from "./addition";
import type {Said} from "./eye";
import {ByEye, eye_argument} from "./eye";
import type {CorrectedPot} from "./pot";
import {corrected_pot, parts_argument} from "./pot";
import {Ring} from "./ring";
import "./dabs.css";

type Way = "measured" | "eye" | "ring" | "beside";

interface Found {
    reply: Document;
    why: string;
}

interface Ground {
    match: Match | null;
    target: Document;
    pot: CorrectedPot;
    shelf: Document;
    taken: string;
}

/** Film and grounds as the recipe was matched for. */
function put_film(match: Match | null, args: Partial<Asked["adjust"]>, files: Files): void {
    const backings = (match?.bench["backings"] as number[][] | undefined) ?? [], film = match?.bench["film_um"] as number | null;
    if (!match || backings.length === 0 || !film) return;
    const geometry = match.bench["reading_geometry"] ?? match.bench["geometry"];
    backings.forEach((reflectance, i) => files[`ground-${i + 1}.json`] = {document: {kind: "reading", format: 1, id: "ground", geometry, reflectance}});
    args["--backing"] = backings.map((_, i) => `ground-${i + 1}.json`);
    args["--film-um"] = film;
}

function adjust(g: Ground, more: Partial<Asked["adjust"]>, files: Files = {}): Promise<Ran<Document>> {
    const args: Asked["adjust"] = {"--toners": "toners.json", "--pot": parts_argument(g.pot.parts), "--taken-g": argument_of(g.taken), ...more};
    files["toners.json"] = {document: g.shelf};
    put_film(g.match, args, files);
    return run<Document>("adjust", args, files);
}

interface WayProps {
    ground: Ground;
    found(ran: Ran<Document>): void;
}

function Eye({ground, found}: WayProps): JSX.Element {
    const [said, set] = useDraft<Said>(`eye ${ground.pot.poured.id} ${ground.pot.added.length}`, {}), doing = useDoing(), words = eye_argument(said);
    return <>
        <ByEye said={said} set={set}/>
        <Problem text={doing.error}/>
        <Button main busy={doing.busy} disabled={!words} onClick={() => void doing.go(async () => found(await adjust(ground, {"--by-eye": words})))}>{t.dabs.find}</Button>
    </>;
}

type CardKind = "halves" | "plain";
type Part = "bare" | "white" | "ground";

/** A film that hides reads the same over any ground; a camera's Lab tells no curve. */
const halves_tell = (g: Ground): boolean => !!g.match?.bench["film_um"] && !!(g.match.bench["backings"] as unknown[] | undefined)?.length && g.target["geometry"] !== "photo";

/** A card that lies half over white: the white half bare, the film over it, the film over the job's ground, each read once. */
function Halves({ground, measured}: {ground: Ground; measured(card: Document, white: Document, bare: Document): Promise<void>}): JSX.Element {
    const [bare, set_bare] = useDraft<Document | null>("card white bare", null);
    const [white, set_white] = useDraft<Document | null>(`card white ${ground.pot.poured.id} ${ground.pot.added.length}`, null);
    const part: Part = !bare ? "bare" : !white ? "white" : "ground";
    const got = async (reading: Document): Promise<void> => part === "bare" ? set_bare(reading) : part === "white" ? set_white(reading) : measured(reading, white!, bare!);
    return <>
        <p>{t.dabs.halves_does}</p>
        <p class="sentence" role="status">{t.dabs.parts[part]}</p>
        <ReadingWays key={part} ways={["instrument"]} label={t.dabs.how_read} got={got}/>
        <div class="row">
            {bare && <Button quiet onClick={() => set_bare(null)}>{t.dabs.bare_again}</Button>}
            {white && <Button quiet onClick={() => set_white(null)}>{t.dabs.white_again}</Button>}
        </div>
    </>;
}

function Measured({ground, found}: WayProps): JSX.Element {
    const [state, set] = useDraft<"coated" | "dry" | "wet">("card is", "coated"), [day] = useFirstDay(), doing = useDoing();
    const [kind, set_kind] = useDraft<CardKind>("card kind", "halves"), may = halves_tell(ground);
    const ask = async (more: Partial<Asked["adjust"]>, files: Files): Promise<void> => found(await adjust(ground, {"--measured": "card.json", "--target": "target.json", "--state": state, ...more},
        {"target.json": {document: ground.target}, ...files}));
    return <>
        <Choice<"coated" | "dry" | "wet"> label={t.dabs.state} value={state} set={set} from={(["coated", "dry", "wet"] as const).map(value => ({value, word: t.dabs.states[value]}))}/>
        {may && <Choice<CardKind> label={t.dabs.card_kind} value={kind} set={set_kind} from={(["halves", "plain"] as const).map(value => ({value, ...t.dabs.card_kinds[value]}))}/>}
        <Problem text={doing.error}/>
        {may && kind === "halves"
            ? <Halves ground={ground} measured={(card, white, bare) => ask({"--half": "white.json", "--half-backing": "bare.json"},
                {"card.json": {document: card}, "white.json": {document: white}, "bare.json": {document: bare}})}/>
            : <ReadingWays ways={["instrument", "photo"]} label={t.dabs.how_read} got={card => ask({}, {"card.json": {document: card}})} toners={ground.shelf} today={day.dabs}/>}
    </>;
}

function Beside({ground, found}: WayProps): JSX.Element {
    const [day] = useFirstDay();
    const got = async (both: Document): Promise<void> => found(await adjust(ground, {"--against": "both.json", "--target": "target.json"},
        {"both.json": {document: both}, "target.json": {document: ground.target}}));
    return <>
        <p>{t.dabs.beside_does}</p>
        <Photographs got={got} toners={ground.shelf} today={day.dabs} dab/>
    </>;
}

interface RingProps extends WayProps {
    ring: Document | null;
    set(ring: Document | null): void;
    answered: Document | null;
}

function RingWay({ground, found, ring, set, answered}: RingProps): JSX.Element {
    const [nearest, set_nearest] = useDraft<number[]>(`nearest ${ground.pot.poured.id} ${ground.pot.added.length}`, []), doing = useDoing();
    const last: Files = answered ? {"last.json": {document: answered}} : {}, args: Partial<Asked["adjust"]> = {"--ring": true, ...answered ? {"--last-ring": "last.json"} : {}};
    const lay = (): Promise<boolean> => doing.go(async () => set((await adjust(ground, args, {...last})).reply));
    const answer = (): Promise<boolean> => doing.go(async () =>
        found(await adjust(ground, {...args, "--nearest": [...nearest].sort().join(",")}, {...last})));
    const print = (): Promise<boolean> => doing.go(async () => {
        const files: Files = {...last, "toners.json": {document: ground.shelf}};
        const all: Asked["adjust"] = {"--toners": "toners.json", "--pot": parts_argument(ground.pot.parts), "--taken-g": argument_of(ground.taken), ...args};
        put_film(ground.match, all, files);
        save_blob(await paper("adjust", all, files), "ring.pdf");
    });
    if (!ring) return <>
        <p>{t.dabs.ring_does}</p>
        <Problem text={doing.error}/>
        <Button main busy={doing.busy} onClick={() => void lay()}>{t.dabs.lay_ring}</Button>
    </>;
    return <>
        <Ring ring={ring} target={ground.target} nearest={nearest} set={set_nearest}/>
        <Problem text={doing.error}/>
        <Button main busy={doing.busy} disabled={nearest.length === 0} onClick={() => void answer()}>{t.dabs.find}</Button>
        <div class="row"><Button onClick={() => void print()}>{t.dabs.ring_paper}</Button><Button onClick={() => set(null)}>{t.dabs.ring_drop}</Button></div>
    </>;
}

function Judge({ground, set_taken, found, p}: {ground: Ground; set_taken(g: string): void; found(found: Found): void; p: StepProps}): JSX.Element {
    const [way, set] = useDraft<Way | null>(`dabs way ${ground.pot.poured.id}`, null);
    const [ring, set_ring] = useDraft<Document | null>(`ring ${ground.pot.poured.id} ${ground.pot.added.length}`, null);
    const answered = p.entries.filter(entry => entry.kind === "ring" && entry.document["answer"] && entry.at > ground.pot.poured.at).pop()?.document ?? null;
    const got = (ran: Ran<Document>): void => {
        found({reply: ran.reply, why: ran.ok ? "" : ran.why});
        scrollTo(0, 0);
    };
    return <>
        <p>{t.dabs.what}</p>
        <Field label={t.dabs.taken} unit="g" mode="decimal" hint={t.dabs.taken_hint} value={ground.taken} set={set_taken}/>
        <Choice<Way> label={t.dabs.how} value={way} set={set} from={(["eye", "ring", "beside", "measured"] as const).map(value => ({value, ...t.dabs.ways[value]}))}/>
        {way === "eye" && <Eye ground={ground} found={got}/>}
        {way === "beside" && <Beside ground={ground} found={got}/>}
        {way === "measured" && <Measured ground={ground} found={got}/>}
        {way === "ring" && <RingWay ground={ground} found={got} ring={ring} set={set_ring} answered={answered}/>}
    </>;
}

/** What a ring's answer adds, as an adjustment: the pot and the shelf hear of it by that. */
const addition_of_ring = (ring: Document, more: Document): Document =>
    ({russet: ring["russet"], kind: "adjustment", format: 1, by: "ring", total_g: ring["total_g"], pot: ring["pot"], pot_after: ring["pot_after"], ...more});

function History({added, bench}: {added: CorrectedPot["added"]; bench: Bench}): JSX.Element | null {
    return added.length === 0 ? null : <section><h2>{t.dabs.history}</h2>
        <ul class="notes">{added.map((one, i) => <li key={i}>{moment(one.at)}: {one.parts
            .map(part => `${part.g.toFixed(2)} g ${short_name(bench.toners[part.toner]?.name ?? part.toner)}`).join(", ")}</li>)}</ul></section>;
}

function Inside({p, shelf, pot, target}: {p: StepProps; shelf: Shelf & {document: Document}; pot: CorrectedPot; target: Document}): JSX.Element {
    const name = `${pot.poured.id} ${pot.added.length}`, match = match_of(p.job, p.colour);
    const [found, set_found] = useDraft<Found | null>(`found ${name}`, null), [taken, set_taken] = useDraft(`taken ${name}`, String(pot.taken_g || 2));
    const doing = useDoing(), bench = shelf.document as unknown as Bench, ground: Ground = {match, target, pot, shelf: shelf.document, taken};
    const layers = layers_of(Object.entries(pot.parts).map(([toner, g]) => ({toner, g, ml: g / (bench.toners[toner]?.density_g_ml ?? 1)})), bench);
    // The dabs of a ring are gone from the cup, too: its answer says so.
    const gone = (found?.reply.kind === "ring" ? found.reply["taken_g"] as number | undefined : undefined) ?? argument_of(taken) ?? 0;
    if (found) return <>
        <AdditionView reply={found.reply} why={found.why} bench={bench} target={target} step={(found.reply["scale_step_g"] as number | undefined) ?? .01}
            pot_g={pot.total_g - gone + (found.reply["additions"] as {g: number}[]).reduce((sum, one) => sum + one.g, 0)}
            name={name} judge={() => set_found(null)}
            poured={additions => doing.go(async () => {
                const ring = found.reply.kind === "ring", more = {additions, taken_g: gone};
                if (ring) await p.log(found.reply);
                await p.log(ring ? addition_of_ring(found.reply, more) : {...found.reply, ...more}, {pot: pot.id});
                set_found(null);
            }).then(() => undefined)}/>
        <Problem text={doing.error}/>
    </>;
    return <>
        <Judge ground={ground} set_taken={set_taken} found={set_found} p={p}/>
        <section><h2>{t.dabs.pot_now}</h2>
            <NamedPot layers={layers} full_ml={1.08 * layers.reduce((sum, layer) => sum + layer.ml, 0)} label={t.pour.in_pot}/></section>
        <History added={pot.added} bench={bench}/>
        <Button onClick={() => void doing.go(async () => {
            await p.log(null, {note: t.dabs.matches_note});
            p.next();
        })}>{t.dabs.matches}</Button>
    </>;
}

function DabsScreen(p: StepProps): JSX.Element {
    const shelf = useShelf(), pot = corrected_pot(p.job, p.colour), target = reading_of(p.job, p.colour);
    if (!pot) return <Note><p>{t.dabs.no_pot}</p><Link class="button" to={to_step(p.job, "pour", p.colour)}>{t.dabs.to_pour}</Link></Note>;
    if (!target) return <Note><p>{t.recipe.no_colour}</p><Link class="button" to={to_step(p.job, "colour", p.colour)}>{t.recipe.to_colour}</Link></Note>;
    return <Told asked={shelf}>{shelf.value && (shelf.value.document
        ? <Inside key={`${pot.poured.id} ${pot.added.length}`} p={p} shelf={{...shelf.value, document: shelf.value.document}} pot={pot} target={target}/>
        : <Note><p>{t.recipe.no_shelf}</p></Note>)}</Told>;
}

add_step({
    name: "dabs", of: "colour", screen: DabsScreen, leads_on: true,
    outcome: (job, colour) => {
        const last = last_of(job, "dabs", undefined, colour), added = corrected_pot(job, colour)?.added.length ?? 0;
        return added > 0 ? t.dabs.corrected(added) : last?.words || null;
    },
});
