// What `russet match` answered, and the one sentence that stands under a pot.
import {spread} from "../colour/reading_view";
import type {Document} from "../job/job";
import type {Bench, Part} from "../pot/layers";
import type {Light} from "../swatch/see";
import {LIGHTS} from "../swatch/see";
import {t} from "../words/words";

export interface Recipe {
    rank: number;
    parts: (Part & {mass_fraction: number; hard_to_weigh: boolean})[];
    de00: Partial<Record<Light, number | null>>;
    lab: number[];
    reflectance: number[] | null;
    contrast_ratio: number | null;
    film_um_to_hide: number | null;
    hides: boolean | null;
    coats_to_hide: number | null;
    weighing_de00_p95: number | null;
    weighing_de00_p95_let_down?: number | null;
    min_batch_g: number | null;
    price_minor: number | null;
    currency: string | null;
}

export interface Match extends Document {
    recipes: Recipe[];
    bench: Bench;
    tolerance_de00: number;
    inside_tolerance: boolean;
}

export const known = (n: number | null | undefined): n is number => typeof n === "number";

export const tint_of = (recipe: Recipe): {lab: number[]; reflectance: number[] | null} => recipe;

/** How far the first card may be off, in dE00, in 19 of 20: the recipe's own miss, the target's spread, the scale, and the shelf. A shelf
 * whose lots drifted by 8 % misses by 1.07 (docs/correct.md): .134 for each per cent of strength; a lot is never taken for surer than 5 %. */
export function first_card_off(recipe: Recipe, match: Match, target: Document | null): number {
    const sds = recipe.parts.map(part => match.bench.toners[part.toner]).filter(toner => toner && toner.role !== "binder")
        .map(toner => toner!.strength_sd ?? .05);
    const shelf = .134 * 100 * Math.max(.05, ...sds), reading = target ? spread(target) ?? 0 : 0;
    const weighing = recipe.weighing_de00_p95_let_down ?? recipe.weighing_de00_p95 ?? 0;
    return Math.hypot(recipe.de00.D65 ?? 0, shelf, reading, weighing);
}

/** One card always proves the pot; each correction leaves about .4 of what was off (docs/correct.md: .44 to .18). */
export function cards(recipe: Recipe, match: Match, target: Document | null): number {
    let off = first_card_off(recipe, match, target), count = 1;
    while (off > match.tolerance_de00 && count < 4) {
        off *= .4;
        count++;
    }
    return count;
}

/** The light it is worst under; "same": none differs by what an eye sees; null: only daylight is known. */
export function weakest(recipe: Recipe): Light | "same" | null {
    const lights = LIGHTS.filter(light => known(recipe.de00[light]));
    if (lights.length < 2) return null;
    const worst = lights.reduce((a, b) => recipe.de00[b]! > recipe.de00[a]! ? b : a);
    return recipe.de00[worst]! < .4 ? "same" : worst;
}

export function hiding(recipe: Recipe, match: Match): string {
    if (recipe.hides === false) return t.recipe.shows_through;
    return known(recipe.coats_to_hide) ? t.recipe.hides(recipe.coats_to_hide, match.bench["coat_um"] as number) : t.recipe.hiding_unknown;
}

/** "Hides in 3 coats, about 2 cards, weakest under lamp." */
export function sentence(recipe: Recipe, match: Match, target: Document | null): string {
    const weak = weakest(recipe);
    const light = weak === null ? t.recipe.daylight_only : weak === "same" ? t.recipe.steady : t.recipe.weakest(t.light[weak]);
    return t.recipe.sentence(hiding(recipe, match), t.recipe.cards(cards(recipe, match, target)), light);
}

type Trait = "near" | "few" | "cheap" | "hides" | "steady" | "weigh";

const measures: Record<Trait, (recipe: Recipe) => number | null> = {
    near: recipe => recipe.de00.D65 ?? null,
    few: recipe => recipe.parts.length,
    cheap: recipe => recipe.price_minor,
    hides: recipe => recipe.coats_to_hide,
    steady: recipe => Math.max(...LIGHTS.map(light => recipe.de00[light] ?? 0)),
    weigh: recipe => recipe.weighing_de00_p95,
};
/** By how much the best must lead before it is worth a word. */
const LEAD: Record<Trait, number> = {near: .3, few: 1, cheap: 1, hides: 1, steady: .2, weigh: .1};

function leads(trait: Trait, recipe: Recipe, others: Recipe[]): boolean {
    const mine = measures[trait](recipe);
    return known(mine) && others.every(other => {
        const theirs = measures[trait](other);
        return known(theirs) && theirs - mine >= LEAD[trait] * (trait === "cheap" ? theirs * .05 : 1);
    });
}

/** What one pot has before all the others, in words; else what it does without, or has beside the first. */
export function trait(recipe: Recipe, all: Recipe[], name: (toner: string) => string): string {
    const others = all.filter(other => other !== recipe);
    const found = others.length ? (Object.keys(measures) as Trait[]).filter(one => leads(one, recipe, others)) : [];
    if (found.length) return t.recipe.traits[found[0]!];
    const first = all[0]!, has = (r: Recipe, toner: string): boolean => r.parts.some(part => part.toner === toner);
    if (recipe === first) return t.recipe.first;
    const more = recipe.parts.filter(part => !has(first, part.toner)), less = first.parts.filter(part => !has(recipe, part.toner));
    const named = (parts: Part[]): string[] => parts.slice(0, 2).map(part => name(part.toner));
    return [more.length && t.recipe.with_toner(named(more)), less.length && t.recipe.without_toner(named(less))].filter(Boolean).join(", ")
        || t.recipe.other_parts;
}

/** The match with the chosen pot in front: what is logged, so that "the recipe" of the job is its first. */
export function with_chosen(match: Match, at: number): Match {
    const chosen = match.recipes[at]!, recipes = [chosen, ...match.recipes.filter(recipe => recipe !== chosen)];
    return {...match, recipes: recipes.map((recipe, i) => ({...recipe, rank: i + 1}))};
}
