// The recipes as pots: one large with its names under its sentence, the others small beside it to be taken instead.
import type {JSX} from "preact";
import {useId} from "preact/hooks";
import {Curves} from "../colour/curve";
import {Notes} from "../colour/reading_view";
import type {Document} from "../job/job";
import {layers_of, short_name} from "../pot/layers";
import {NamedPot, SmallPot} from "../pot/pot";
import {Deeper} from "../shell/ui";
import {Lights} from "../swatch/swatch";
import {LIGHTS} from "../swatch/see";
import {t} from "../words/words";
import type {Match, Recipe} from "./recipe";
import {first_card_off, known, sentence, tint_of, trait} from "./recipe";

const ml_of = (recipe: Recipe): number => recipe.parts.reduce((sum, part) => sum + (part.ml ?? part.g), 0);

interface Props {
    match: Match;
    target: Document;
    chosen: number;
    choose(at: number): void;
}

function Others({match, chosen, choose}: Props): JSX.Element | null {
    const name = useId(), full = 1.08 * Math.max(...match.recipes.map(ml_of));
    if (match.recipes.length < 2) return null;
    const toner = (id: string): string => short_name(match.bench.toners[id]?.name ?? id);
    return <fieldset class="pots">
        <legend>{t.recipe.pots}</legend>
        <div>{match.recipes.map((recipe, i) => <label key={recipe.rank} class="chip pot-chip">
            <input type="radio" name={name} checked={i === chosen} onChange={() => choose(i)}/>
            <span><SmallPot layers={layers_of(recipe.parts, match.bench)} full_ml={full}/>{trait(recipe, match.recipes, toner)}</span>
        </label>)}</div>
    </fieldset>;
}

export const money = (minor: number, currency: string | null): string =>
    `${(minor / 100).toFixed(2)}${currency ? ` ${currency}` : ""}`;

function Figures({recipe, match, target}: {recipe: Recipe; match: Match; target: Document}): JSX.Element {
    const rows: [string, string][] = [];
    for (const light of LIGHTS) if (known(recipe.de00[light])) rows.push([t.recipe.off_under(t.light[light]), `${recipe.de00[light]!.toFixed(2)} dE00`]);
    rows.push([t.recipe.first_card, `${first_card_off(recipe, match, target).toFixed(1)} dE00`]);
    if (known(recipe.film_um_to_hide)) rows.push([t.recipe.film_to_hide, `${recipe.film_um_to_hide.toFixed(0)} µm`]);
    if (known(recipe.weighing_de00_p95)) rows.push([t.recipe.weighing, `${recipe.weighing_de00_p95.toFixed(2)} dE00`]);
    if (known(recipe.min_batch_g)) rows.push([t.recipe.least_batch, `${recipe.min_batch_g.toFixed(0)} g`]);
    if (known(recipe.price_minor)) rows.push([t.recipe.price, money(recipe.price_minor, recipe.currency)]);
    const lines = [...target["reflectance"] ? [{word: t.curve.target, reflectance: target["reflectance"] as number[]}] : [],
        ...recipe.reflectance ? [{word: t.curve.recipe, reflectance: recipe.reflectance}] : []];
    return <>
        <dl class="figures">{rows.map(([what, figure]) => <><dt key={what}>{what}</dt><dd>{figure}</dd></>)}</dl>
        {lines.length > 0 && <Curves lines={lines}/>}
    </>;
}

export function Pots(p: Props): JSX.Element {
    const recipe = p.match.recipes[p.chosen] ?? p.match.recipes[0]!, layers = layers_of(recipe.parts, p.match.bench);
    return <>
        <Lights ground={p.target} dab={tint_of(recipe)} de00={recipe.de00}/>
        <p class="sentence" role="status">{sentence(recipe, p.match, p.target)}</p>
        <NamedPot layers={layers} full_ml={1.08 * ml_of(recipe)} step={p.match.bench["scale_step_g"] as number} label={t.recipe.in_pot}/>
        <Others {...p}/>
        <Notes of={p.match}/>
        <Deeper word={t.figures}><Figures recipe={recipe} match={p.match} target={p.target}/></Deeper>
    </>;
}
