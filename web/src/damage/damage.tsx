// Cracks and lost colour measured on the photographs of the first look, and drawn on them.
import type {JSX} from "preact";
import {useState} from "preact/hooks";
import type {Files} from "../api/api";
import type {Asked} from "../api/operations";
import {photo_address, run_watched, small_photo} from "../api/api";
import {Notes} from "../colour/reading_view";
import {useDraft} from "../colour/draft";
import {number_of} from "../colour/numbers";
import type {Document, Entry} from "../job/job";
import {useAsked, useDoing} from "../shell/ask";
import type {Seen} from "../shell/picture";
import {png_of, seen_small} from "../shell/picture";
import {Photo} from "../shell/photos";
import {Button, Choice, Deeper, Field, Form, Many, Problem, Progress, Told} from "../shell/ui";
import type {StepProps} from "../steps/steps";
import {t} from "../words/words";
import "./damage.css";
import {marked} from "./marks";
import type {Point, Taps, What} from "./tap";
import {NO_TAPS, square, TapPhoto} from "./tap";

async function small_of(sha256: string): Promise<Seen & {address: string}> {
    const small = await seen_small(await small_photo(sha256));
    return {...small, address: URL.createObjectURL(small.bytes)};
}

export const polygon_of = (points: readonly Point[], step: number): string => points.map(([x, y]) => `${Math.round(x * step)},${Math.round(y * step)}`).join(" ");

/** Millimetres of a photograph's pixel: two ends of a known length, tapped on the small one. */
export const mm_per_px = ([a, b]: readonly Point[], mm: number, step: number): number => mm / (Math.hypot(a![0] - b![0], a![1] - b![1]) * step);

export const damage_sentence = (d: Document): string => t.damage.sentence(Math.round(d["crack_mm"] as number), ((d["loss_mm2"] as number) / 100).toFixed(1), ((d["panel_mm2"] as number) / 100).toFixed(0));

interface Class {
    class: string;
    damage: string | null;
    area_mm2: number;
    length_mm: number;
    spots: number;
}

/** What the measurement found, as the form of the first look says it. */
export const seen_in_damage = (d: Document): {damage: string[]; line: string} => ({
    damage: [...new Set((d["classes"] as Class[] | undefined ?? []).flatMap(one => one.damage ? [one.damage] : []))], line: String(Math.round(d["crack_mm"] as number)),
});

/** What a figure may be off by, where the measurement could say it. */
const within = (d: Record<string, unknown> | undefined, key: string, parts: number, digits: number): string | null =>
    typeof d?.[key] === "number" ? ((d[key] as number) / parts).toFixed(digits) : null;

function Figures({d}: {d: Document}): JSX.Element {
    const width = d["crack_width_mm"] as {median: number; p95: number; median_u95?: number} | undefined, {doubt} = t.damage, classes = d["classes"] as Class[] | undefined ?? [];
    return <>
        <table><caption>{t.damage.measured}</caption><tbody>
            <tr><th scope="row">{t.damage.cracks}</th><td>{doubt(String(Math.round(d["crack_mm"] as number)), within(d, "crack_mm_u95", 1, 0))} mm</td></tr>
            {width && (d["crack_mm"] as number) > 0 && <tr><th scope="row">{t.damage.width}</th>
                <td>{doubt(width.median.toFixed(2), within(width, "median_u95", 1, 2))} mm, {t.damage.upto(width.p95.toFixed(2))}</td></tr>}
            <tr><th scope="row">{t.damage.loss}</th><td>{doubt(((d["loss_mm2"] as number) / 100).toFixed(1), within(d, "loss_mm2_u95", 100, 1))} cm²</td></tr>
        </tbody></table>
        {classes.length > 0 && <table><caption>{t.damage.figures}</caption><tbody>
            {classes.map(one => <tr key={one.class}><th scope="row">{t.damage.classes[one.class] ?? one.class}</th>
                <td>{one.length_mm > 0 ? `${Math.round(one.length_mm)} mm` : ""}</td><td>{(one.area_mm2 / 100).toFixed(1)} cm²</td></tr>)}
        </tbody></table>}
    </>;
}

function Found({entry}: {entry: Entry}): JSX.Element {
    const d = entry.document, mm = within(d, "crack_mm_u95", 1, 0), cm2 = within(d, "loss_mm2_u95", 100, 1);
    return <section class="damage" aria-label={t.damage.title}>
        {entry.photographs.map(sha256 => <a key={sha256} href={photo_address(sha256, 1600)} target="_blank" rel="noopener"><img src={photo_address(sha256, 1600)} alt={t.damage.marked}/></a>)}
        <p class="sentence">{damage_sentence(d)}</p>
        <p class="hint">{t.damage.legend}</p>
        {(mm ?? cm2) !== null && <p>{t.damage.sure(mm, cm2)}</p>}
        <Deeper word={t.damage.the_figures}>
            <Figures d={d}/>
            <Notes of={d}/>
        </Deeper>
    </section>;
}

interface Props {
    photos: string[];
    piece: string | null;
    log: StepProps["log"];
}

function Measure({photos, piece, log}: Props): JSX.Element {
    const [first, set_first] = useState(photos[0]!), [others, set_others] = useState<string[]>([]), [what, set_what] = useState<What>("length");
    const [taps, set] = useDraft<Taps>(`taps ${first}`, NO_TAPS), [mm, set_mm] = useDraft(`length ${first}`, ""), [part, set_part] = useState<number | null>(null);
    const small = useAsked(() => small_of(first), first), doing = useDoing();
    const [a, b] = taps.length, one_place = a && b && Math.hypot(a[0] - b[0], a[1] - b[1]) < 2;
    const ready = small.value && b && !one_place && (number_of(mm) ?? 0) > 0;
    const send = (): void => void doing.go(async () => {
        const {size, step, bytes} = small.value!, files: Files = {}, names = [first, ...others.filter(one => one !== first)];
        const called = names.map(sha256 => `photograph-${photos.indexOf(sha256) + 1}`); // as on its button
        names.forEach((sha256, i) => (files[called[i]!] = {photo: sha256}));
        const args: Asked["photo damage"] = {PHOTO: called, "--mm-per-px": mm_per_px(taps.length, number_of(mm)!, step), "--cracks-out": "cracks.png", "--loss-out": "loss.png"};
        if (taps.panel.length > 2) args["--panel"] = polygon_of(taps.panel, step);
        if (taps.sound[0]) args["--sound"] = polygon_of(square(taps.sound[0], ...size), step);
        const {reply, written} = await run_watched<Document>(["photo damage", args, files], set_part);
        const picture = await marked(bytes, png_of(written["cracks.png"])!, png_of(written["loss.png"])!);
        await log(reply, {step: "look", piece, photos: [picture]});
    }).finally(() => set_part(null));
    return <Form send={send}>
        {photos.length > 1 && <fieldset class="choice"><legend>{t.damage.which}</legend><div class="picks">{photos.map((sha256, i) => <button key={sha256} type="button" class="photo-pick" aria-pressed={first === sha256}
            aria-label={t.damage.photo_n(i + 1)} onClick={() => set_first(sha256)}><Photo sha256={sha256} alt="" instead={t.damage.photo_n(i + 1)}/></button>)}</div></fieldset>}
        <Told asked={small}>{small.value && <>
            <Choice<What> label={t.damage.what} value={what} set={set_what} from={(["length", "panel", "sound"] as const).map(value => ({value, word: t.damage.whats[value], about: t.damage.is[value](taps[value].length)}))}/>
            <TapPhoto address={small.value.address} size={small.value.size} what={what} taps={taps} set={set}/>
        </>}</Told>
        <Field label={t.damage.mm} unit="mm" mode="decimal" value={mm} set={set_mm} hint={t.damage.mm_hint}/>
        {photos.length > 1 && <Many label={t.damage.lamp} hint={t.damage.lamp_hint} value={others} set={set_others}
            from={photos.flatMap((sha256, i) => sha256 === first ? [] : [{value: sha256, word: t.damage.photo_n(i + 1)}])}/>}
        <Progress part={part}/>
        <Problem text={one_place ? t.damage.one_place : doing.error}/>
        <Button submit busy={doing.busy} disabled={!ready}>{t.damage.measure}</Button>
    </Form>;
}

/** In the first look: what was measured, and the measuring, as soon as there is a photograph. */
export function Damage({entries, piece, log}: {entries: Entry[]; piece: string | null; log: StepProps["log"]}): JSX.Element | null {
    const newest = entries.filter(entry => entry.kind === "damage" && entry.piece === piece).pop() ?? null;
    const photos = entries.filter(entry => entry.kind === "photograph" && (entry.piece === piece || entry.piece === null)).flatMap(entry => entry.photographs);
    if (photos.length === 0) return null;
    return <>
        {newest && <Found entry={newest}/>}
        <Deeper word={newest ? t.damage.again : t.damage.title}><p>{t.damage.how}</p><Measure key={photos.join()} photos={photos} piece={piece} log={log}/></Deeper>
    </>;
}
