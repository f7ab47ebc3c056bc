// The pour as a machine without a screen. What was poured is a list of amounts, each the difference of two readings of a scale that is
// zeroed once; `russet pour --poured` says after each what comes next, to which reading, and what an over-pour means.
import type {Asked} from "../api/operations";
import type {Document} from "../job/job";
import type {Bench, Layer} from "../pot/layers";
import {short_name, toner_look} from "../pot/layers";

export interface LetDown {
    fraction: number;
    pour_as: string;
    make_g: number;
    toner_g: number;
    binder_g: number;
    binder: string;
    /** In a rescue: it is there already. */
    stirred?: boolean;
}

export interface Step {
    toner: string;
    name: string;
    g: number;
    to_reading_g: number;
    window_minus_g: number;
    window_plus_g: number;
    let_down: LetDown | null;
    left_g: number;
    done: boolean;
    ml: number | null;
    /** "lot W-1", where the shelf has one. */
    lot?: string | null;
}

interface MendPour {
    toner: string;
    name: string;
    g: number;
    to_reading_g: number;
    window_minus_g: number;
    window_plus_g: number;
    let_down: LetDown | null;
    lot?: string | null;
}

export interface Mend {
    pours: MendPour[];
    added_g: number;
    total_g: number;
    extra_g: number;
    de00: number;
    fits: boolean;
}

export interface PourReply extends Document {
    steps: Step[];
    total_g: number;
    reading_g: number;
    scale_step_g: number;
    next: (Omit<Step, "left_g" | "done" | "ml"> & {step: number}) | null;
    may_stay: {yes: boolean; cost_de00: number} | null;
    rescue: {over: string[]; advice: "stay" | "enough" | "whole" | "partial" | "begin again"; whole: Mend | null; least: Mend | null} | null;
}

export interface Amount {
    /** As --poured names it: black, or black:10 for a let-down. */
    as: string;
    toner: string;
    g: number;
}

export interface Session {
    batch_g: number;
    step_g: number;
    pot_g: number | null;
    spray: Partial<Asked["pour"]>;
    poured: Amount[];
    /** The pours of a mended plan, instead of the plan's own. */
    mend: MendPour[] | null;
    /** What the mended plan is off by when every pour of it is inside its window. */
    mend_de00: number | null;
    /** The cup is on and the scale at zero. */
    ready: boolean;
    /** An over-pour that was left as it is: how much was poured by then. */
    left_at: number;
}

export const begin = (batch_g: number, step_g: number, pot_g: number | null, spray: Partial<Asked["pour"]>): Session =>
    ({batch_g, step_g, pot_g, spray, poured: [], mend: null, mend_de00: null, ready: false, left_at: 0});

export const reading_of = (s: Session): number => round_to(s.poured.reduce((sum, amount) => sum + amount.g, 0), s.step_g);

const round_to = (g: number, step: number): number => Number((Math.round(g / step) * step).toFixed(6));

export function poured_argument(s: Session): string | undefined {
    const sums = new Map<string, number>();
    for (const amount of s.poured) sums.set(amount.as, (sums.get(amount.as) ?? 0) + amount.g);
    return [...sums].map(([as, g]) => `${as}=${round_to(g, s.step_g)}`).join(",") || undefined;
}

export const arguments_of = (s: Session, recipe: string, name: string): Asked["pour"] => ({
    ...s.spray, "--recipe": recipe, "--batch-g": s.batch_g, "--scale-step": s.step_g, "--poured": poured_argument(s),
    "--pot-g": s.pot_g ?? undefined, "--name": name,
});

/** What is to be poured now. */
export interface Now {
    as: string;
    toner: string;
    name: string;
    /** Still missing. */
    g: number;
    to_g: number;
    minus_g: number;
    plus_g: number;
    let_down: LetDown | null;
    lot?: string | null;
}

function mend_now(s: Session): Now | null {
    const level = reading_of(s);
    for (const pour of s.mend ?? []) {
        const minus = pour.window_minus_g, plus = pour.window_plus_g;
        if (pour.to_reading_g - minus <= level + s.step_g / 100) continue;
        return {as: pour.let_down?.pour_as ?? pour.toner, toner: pour.toner, name: pour.name, g: pour.to_reading_g - level, to_g: pour.to_reading_g,
            minus_g: minus, plus_g: plus, let_down: pour.let_down, lot: pour.lot ?? null};
    }
    return null;
}

export function now_of(s: Session, reply: PourReply): Now | null {
    if (s.mend) return mend_now(s);
    const next = reply.next;
    return next && {
        as: next.let_down?.pour_as ?? next.toner, toner: next.toner, name: next.name, g: next.to_reading_g - reading_of(s),
        to_g: next.to_reading_g, minus_g: next.window_minus_g, plus_g: next.window_plus_g, let_down: next.let_down,
        lot: reply.steps[next.step - 1]?.lot ?? null,
    };
}

export type Told = "less" | "nothing" | "short" | "in" | "over";

/** What a reading of the scale means while `now` is poured. */
export function tell(s: Session, now: Now, reading_g: number): Told {
    const level = reading_of(s), slack = s.step_g / 100;
    if (reading_g < level - slack) return "less";
    if (reading_g < level + slack) return "nothing";
    if (reading_g < now.to_g - now.minus_g - slack) return "short";
    return reading_g > now.to_g + now.plus_g + slack ? "over" : "in";
}

export const take = (s: Session, now: Now, reading_g: number): Session =>
    ({...s, poured: [...s.poured, {as: now.as, toner: now.toner, g: round_to(reading_g - reading_of(s), s.step_g)}]});

export const undo = (s: Session): Session =>
    ({...s, poured: s.poured.slice(0, -1), mend: null, mend_de00: null, left_at: Math.min(s.left_at, s.poured.length - 1)});

/** Whether the last pour went too far and nobody has said yet what is to be done. */
export function is_over(s: Session, reply: PourReply): boolean {
    const last = s.poured[s.poured.length - 1];
    return !!reply.rescue && !s.mend && s.poured.length > s.left_at && !!last && reply.rescue.over.includes(last.toner);
}

export const leave = (s: Session): Session => ({...s, left_at: s.poured.length});
/** Its pours take the place of the plan's, as they stand: on a coarse scale some of them are let-downs. */
export const mend_by = (s: Session, mend: Mend): Session => ({...s, left_at: s.poured.length, mend: mend.pours, mend_de00: mend.de00});

function ml_of(toner: string, g: number, bench: Bench): number {
    return g / (bench.toners[toner]?.density_g_ml ?? 1);
}

interface Coming {
    toner: string;
    name: string;
    g: number;
}

function coming(s: Session, reply: PourReply): Coming[] {
    if (!s.mend) return reply.steps.filter(step => !step.done).map(step => ({toner: step.toner, name: step.name, g: step.left_g}));
    let level = reading_of(s);
    return s.mend.flatMap(pour => {
        const g = pour.to_reading_g - level;
        if (g <= 0) return [];
        level = pour.to_reading_g;
        return [{toner: pour.toner, name: pour.name, g}];
    });
}

/** The pot as it stands and as it will be, bottom first. */
export function pot_layers(s: Session, reply: PourReply, bench: Bench): Layer[] {
    const layers: Layer[] = [], add = (toner: string, name: string, g: number, state: Layer["state"]): void => {
        const top = layers[layers.length - 1], same = top && top.key.startsWith(`${toner} `) && top.state === state;
        if (same) top.g += g, top.ml += ml_of(toner, g, bench);
        else layers.push({key: `${toner} ${layers.length}`, name: short_name(name), g, ml: ml_of(toner, g, bench), state,
            look: toner_look(bench.toners[toner], bench.surface)});
    };
    for (const amount of s.poured) add(amount.toner, bench.toners[amount.toner]?.name ?? amount.toner, amount.g, "in");
    const rest = coming(s, reply), now = now_of(s, reply);
    rest.forEach((step, i) => add(step.toner, step.name, step.g, now && i === 0 ? "next" : "later"));
    return layers;
}
