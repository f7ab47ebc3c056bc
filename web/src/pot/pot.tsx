// The pot: a straight cup, so that height is volume. Its layers are to scale; the names beside it have equal room and a thread to
// their layer, however thin that is.
import type {ComponentChildren, JSX} from "preact";
import {useId} from "preact/hooks";
import {t} from "../words/words";
import type {Layer, Placed} from "./layers";
import {grams, place} from "./layers";
import "./pot.css";

const WIDE = 100, ROW = 44, TIGHT_ROW = 34, WALL = 3, RIM = 10;

interface Inside {
    left: number;
    right: number;
    top: number;
    bottom: number;
}

const height_at = (inside: Inside, part: number): number => inside.bottom - part * (inside.bottom - inside.top);

function Fill({layer, inside, binder}: {layer: Placed; inside: Inside; binder: string}): JSX.Element {
    const top = height_at(inside, layer.to), box = {
        x: inside.left, y: top, width: inside.right - inside.left, height: Math.max(.75, height_at(inside, layer.from) - top),
    };
    if (layer.state === "in") return <rect {...box} fill={layer.look?.css ?? `url(#${binder})`}/>;
    const line = `M${inside.left} ${top}H${inside.right}`;
    return layer.state === "next" ? <path d={line} class="pot-next"/> : <path d={line} class="pot-later"/>;
}

/** Cup and what is in it; full_ml is what fills it to the rim. */
function Cup({layers, full_ml, inside, live}: {layers: Layer[]; full_ml: number; inside: Inside; live?: Live | null}): JSX.Element {
    const id = useId().replace(/\W/g, ""), placed = place(layers, full_ml);
    const level = live ? height_at(inside, Math.min(1, live.ml / full_ml)) : 0;
    const base = placed.filter(l => l.state === "in").pop()?.to ?? 0;
    return <>
        <defs><pattern id={id} width="5" height="5" patternUnits="userSpaceOnUse">
            <rect width="5" height="5" class="pot-binder"/><circle cx="1.5" cy="1.5" r=".8" class="pot-binder-dot"/>
        </pattern></defs>
        {placed.map(layer => <Fill key={layer.key} layer={layer} inside={inside} binder={id}/>)}
        {live && live.ml / full_ml > base && <rect x={inside.left} width={inside.right - inside.left} y={level}
            height={height_at(inside, base) - level} fill={live.css ?? `url(#${id})`}/>}
        <path class="pot-wall" d={`M${inside.left - WALL} ${inside.top - RIM}V${inside.bottom + WALL}H${inside.right + WALL}V${inside.top - RIM}`}/>
    </>;
}

/** What flows in now: the level as the scale tells it, and its colour (null: binder). */
export interface Live {
    ml: number;
    css: string | null;
}

/** A small pot without names. */
export function SmallPot({layers, full_ml}: {layers: Layer[]; full_ml: number}): JSX.Element {
    return <svg class="small-pot" viewBox="0 0 60 72" aria-hidden="true">
        <Cup layers={layers} full_ml={full_ml} inside={{left: 6, right: 54, top: 12, bottom: 67}}/>
    </svg>;
}

interface NamedProps {
    layers: Layer[];
    full_ml: number;
    step?: number;
    live?: Live | null;
    label: string;
    /** Names alone, for a screen where the grams stand elsewhere. */
    tight?: boolean;
    /** What stands under the name instead of the grams. */
    about?(layer: Layer): ComponentChildren;
}

/** What is poured as a let-down is told a digit finer than the scale: it is weighed ten times as heavy. */
const grams_of = (layer: Layer, step: number): string => layer.let_down ? t.pot.let_down(grams(layer.g, step / 10)) : t.pot.grams(grams(layer.g, step));

export function NamedPot({layers, full_ml, step = .01, live, label, tight, about}: NamedProps): JSX.Element {
    const row = tight ? TIGHT_ROW : ROW, rows = Math.max(layers.length, 5), high = rows * row;
    const inside: Inside = {left: 6, right: WIDE - 6, top: 14, bottom: high - 6};
    const placed = place(layers, full_ml), first_row = (rows - layers.length) * row;
    const thread = (layer: Placed, i: number): string => {
        const from = height_at(inside, layer.state === "in" ? (layer.from + layer.to) / 2 : layer.to);
        return `M${WIDE - 3} ${from}L${WIDE + 8} ${from}L${WIDE + 24} ${first_row + (layers.length - 1 - i + .5) * row}H144`;
    };
    return <div class={tight ? "named-pot tight" : "named-pot"} style={{"--rows": rows}}>
        <svg viewBox={`0 0 144 ${high}`} preserveAspectRatio="none" aria-hidden="true">
            <Cup layers={layers} full_ml={full_ml} inside={inside} live={live ?? null}/>
            {placed.map((layer, i) => <path key={layer.key} class="pot-thread" d={thread(layer, i)}/>)}
        </svg>
        <ol aria-label={label} reversed>
            {[...layers].reverse().map(layer => <li key={layer.key} data-state={layer.state}>
                <b>{layer.name}</b>
                <span class={tight ? "hidden" : undefined}>{about ? about(layer) : grams_of(layer, step)}</span>
                {layer.state !== "in" && <span class="hidden">{t.pot.state[layer.state]}</span>}
            </li>)}
        </ol>
    </div>;
}
