// What is to be added: the dab before and after on the target, the pot with the additions on top, and the pour of them.
import type {JSX} from "preact";
import {Curves} from "../colour/curve";
import {useDraft} from "../colour/draft";
import {Notes} from "../colour/reading_view";
import type {Document} from "../job/job";
import type {Bench, Layer} from "../pot/layers";
import {grams, short_name, toner_look} from "../pot/layers";
import {NamedPot} from "../pot/pot";
import type {Now} from "../pour/pour";
import {Pourer} from "../pour/pourer";
import {Button, Deeper, Note} from "../shell/ui";
import type {Seen} from "../swatch/see";
import {look} from "../swatch/see";
import {Lights, difference_words} from "../swatch/swatch";
import {t} from "../words/words";

interface Addition {
    toner: string;
    name: string;
    g: number;
    window_g: number | null;
    ml: number | null;
}

interface Props {
    reply: Document;
    why: string;
    bench: Bench;
    target: Seen;
    pot_g: number;
    step: number;
    /** Everything was poured: what went in, as it was weighed. */
    poured(additions: Addition[]): Promise<void>;
    judge(): void;
    name: string;
}

const after_of = (reply: Document): Seen => ({lab: reply["lab_after"], reflectance: reply["reflectance_after"]});

function layers_with(p: Props, poured: number[]): Layer[] {
    const additions = p.reply["additions"] as Addition[], before = look(p.reply["dabs"]?.[0] ?? {lab: p.reply["lab_before"]});
    const rest = p.pot_g - additions.reduce((sum, one) => sum + one.g, 0);
    const base: Layer = {key: "pot", name: t.dabs.pot_so_far, g: rest, ml: rest / 1.05, look: before, state: "in"};
    return [base, ...additions.map((one, i): Layer => ({
        key: one.toner, name: short_name(one.name), g: poured[i] ?? one.g, ml: one.ml ?? one.g, look: toner_look(p.bench.toners[one.toner], p.bench.surface),
        state: poured[i] !== undefined ? "in" : i === poured.length ? "next" : "later",
    }))];
}

/** The additions one after the other, on a scale that is zeroed once with the pot on it. */
function PourAdditions(p: Props): JSX.Element {
    const additions = p.reply["additions"] as Addition[], [poured, set] = useDraft<number[]>(`additions ${p.name}`, []);
    const level = poured.reduce((a, b) => a + b, 0), one = additions[poured.length], layers = layers_with(p, poured);
    const full = layers.reduce((sum, layer) => sum + layer.ml, 0);
    if (!one) return <>
        <p class="sentence" role="status">{t.dabs.all_added}</p>
        <NamedPot layers={layers} full_ml={1.08 * full} step={p.step} label={t.pour.in_pot}/>
        <Button main onClick={() => void p.poured(additions.map((a, i) => ({...a, g: poured[i]!}))).then(() => set([]))}>{t.dabs.keep_added}</Button>
        <Button quiet onClick={() => set(poured.slice(0, -1))}>{t.pour.undo}</Button>
    </>;
    const window = Math.max(one.window_g ?? 0, p.step), in_ml = layers.filter(layer => layer.state === "in").reduce((sum, layer) => sum + layer.ml, 0);
    const now: Now = {as: one.toner, toner: one.toner, name: one.name, g: one.g, to_g: Number((level + one.g).toFixed(4)), minus_g: window, plus_g: window, let_down: null};
    const density = one.ml ? one.g / one.ml : 1.05;
    return <Pourer now={now} level={level} step={p.step} layers={layers} full_ml={1.08 * full} busy={false}
        live_css={toner_look(p.bench.toners[one.toner], p.bench.surface)?.css ?? null} ml_at={g => in_ml + (g - level) / density}
        tell={g => g < level ? "less" : g === level ? "nothing" : g < now.to_g - window - 1e-6 ? "short" : g > now.to_g + window + 1e-6 ? "over" : "in"}
        take={g => set([...poured, Number((g - level).toFixed(4))])}>
        {poured.length > 0 && <Button onClick={() => set(poured.slice(0, -1))}>{t.pour.undo}</Button>}
    </Pourer>;
}

function says(p: Props): string {
    const additions = p.reply["additions"] as Addition[];
    if (additions.length === 0) return p.reply["reaches"] ? t.dabs.near_enough : t.dabs.nothing_helps;
    const after = p.reply["de00_after"] as number | null | undefined;
    return t.dabs.adds(additions.map(one => `${grams(one.g, p.step)} g ${short_name(one.name)}`),
        typeof after === "number" ? difference_words(after) : null);
}

function Figures({reply, target}: {reply: Document; target: Seen}): JSX.Element {
    const rows: [string, unknown, string][] = [[t.dabs.before, reply["de00_before"], "dE00"], [t.dabs.after, reply["de00_after"], "dE00"],
        [t.dabs.after_p95, reply["de00_after_p95"], "dE00"], [t.dabs.remains, reply["remains_g"], "g"], [t.dabs.total, reply["total_g"], "g"]];
    const after = reply["reflectance_after"] as number[] | null | undefined;
    return <>
        <dl class="figures">{rows.filter(([, n]) => typeof n === "number").map(([what, n, unit]) =>
            <><dt key={what}>{what}</dt><dd>{(n as number).toFixed(2)} {unit}</dd></>)}</dl>
        {after && target.reflectance && <Curves lines={[{word: t.curve.target, reflectance: target.reflectance}, {word: t.curve.after, reflectance: after}]}/>}
    </>;
}

function StartOver({reply, step}: {reply: Document; step: number}): JSX.Element | null {
    const over = reply["start_over"] as {keep_g: number; additions: Addition[]; de00_after: number} | null;
    return over && <Note><p>{t.dabs.start_over(grams(over.keep_g, step), over.additions.map(one => `${grams(one.g, step)} g ${short_name(one.name)}`))}</p></Note>;
}

export function AdditionView(p: Props): JSX.Element {
    const [pouring, set_pouring] = useDraft(`pouring ${p.name}`, false), additions = p.reply["additions"] as Addition[];
    const aim: Seen = p.reply["target_lab"] ? {lab: p.reply["target_lab"], reflectance: p.reply["target_reflectance"]} : p.target;
    if (pouring && additions.length) return <>
        <p>{t.dabs.zero_with_pot}</p>
        <PourAdditions {...p}/>
        <Button quiet onClick={() => set_pouring(false)}>{t.dabs.back_to_sentence}</Button>
    </>;
    const layers = layers_with(p, additions.map(one => one.g));
    return <>
        {p.reply["lab_after"] && <Lights ground={aim} dab={after_of(p.reply)}/>}
        <p class="sentence" role="status">{says(p)}</p>
        {p.why && <Note><p>{p.why}</p></Note>}
        <StartOver reply={p.reply} step={p.step}/>
        {additions.length > 0 && <>
            <NamedPot layers={layers} full_ml={1.08 * layers.reduce((sum, layer) => sum + layer.ml, 0)} step={p.step} label={t.dabs.pot_after}/>
            <Button main onClick={() => set_pouring(true)}>{t.dabs.pour_these}</Button>
        </>}
        <Button quiet onClick={p.judge}>{t.dabs.judge_again}</Button>
        <Notes of={p.reply}/>
        <Deeper word={t.figures}><Figures reply={p.reply} target={p.target}/></Deeper>
    </>;
}
