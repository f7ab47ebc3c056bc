// A recipe as layers in a pot: how high each stands, and what it looks like.
import type {Look} from "../swatch/see";
import {look, masstone} from "../swatch/see";

export interface Toner {
    name: string;
    role: "binder" | "white" | "black" | "colour";
    density_g_ml?: number | null;
    strength_sd?: number | null;
    k: number[];
    s: number[];
}

export interface Bench {
    toners: Record<string, Toner>;
    surface: {k1?: number; k2?: number};
    [more: string]: any;
}

export type State = "in" | "next" | "later";

export interface Layer {
    key: string;
    name: string;
    g: number;
    ml: number;
    /** null: the binder, which has no colour of its own. */
    look: Look | null;
    state: State;
    /** The scale cannot weigh so little: it is poured as a let-down in binder. */
    let_down?: boolean;
}

export const grams = (g: number, step = .01): string => g.toFixed(Math.min(4, Math.max(0, Math.ceil(-Math.log10(step) - 1e-9))));

export function toner_look(toner: Toner | undefined, surface: {k1?: number; k2?: number}): Look | null {
    return !toner || toner.role === "binder" ? null : look({reflectance: masstone(toner.k, toner.s, surface)});
}

/** Names of a shelf without what is said behind them. */
export function short_name(name: string): string {
    const plain = name.replace(/\s*\(.*\)\s*$/, "");
    return plain.length > 14 ? plain.replace(/,.*$/, "") : plain;
}

export interface Part {
    toner: string;
    g: number;
    ml?: number | null;
    let_down?: boolean;
}

/** Bottom first: little before much, the binder on top, about as it will be poured. */
export function layers_of(parts: Part[], bench: Bench): Layer[] {
    const binder = (part: Part): number => bench.toners[part.toner]?.role === "binder" ? 1 : 0;
    return parts.filter(part => part.g > 0).sort((a, b) => binder(a) - binder(b) || a.g - b.g).map(part => {
        const toner = bench.toners[part.toner];
        return {
            key: part.toner, name: short_name(toner?.name ?? part.toner), g: part.g, ml: part.ml ?? part.g, state: "in",
            look: toner_look(toner, bench.surface), let_down: part.let_down ?? false,
        };
    });
}

export interface Placed extends Layer {
    /** From the bottom, in parts of the pot's inner height. */
    from: number;
    to: number;
}

/** Layers to scale in a pot that holds full_ml. */
export function place(layers: Layer[], full_ml: number): Placed[] {
    let level = 0;
    return layers.map(layer => {
        const from = level / full_ml;
        level += layer.ml;
        return {...layer, from, to: Math.min(1, level / full_ml)};
    });
}
