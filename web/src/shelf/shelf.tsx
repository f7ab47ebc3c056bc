// The shelf: what is left of each toner as a level, and how the bench learnt it.
import type {JSX} from "preact";
import {paper, run} from "../api/api";
import type {Document} from "../job/job";
import type {Asked} from "../shell/ask";
import {useAsked, useDoing} from "../shell/ask";
import {save_as} from "../shell/money";
import {moment, today} from "../shell/time";
import {Button, Deeper, Link, Problem, Screen, Told} from "../shell/ui";
import {t} from "../words/words";
import type {Bench} from "../pot/layers";
import {toner_look} from "../pot/layers";
import {Receive} from "./bottle";
import {Teach} from "./teach";

export interface Lot {
    id: string;
    name: string;
    left_g: number;
    expires: string | null;
    frost: "no" | "yes" | "unknown";
    used_up: boolean;
}

export interface Toner {
    id: string;
    name: string;
    role: string;
    left_g: number;
    warn_g: number;
    safety_sheet: unknown;
    lots: Lot[];
}

export interface Shelf {
    shelf: string | null;
    shelf_at: string | null;
    toners: Toner[];
    toners_document?: Document | null;
}

export const useShelf = (): Asked<Shelf> => useAsked(async () => (await run<Shelf>("shelf show", {"--toners": true})).reply, "shelf");

export const grams = (g: number): string => `${g >= 100 ? Math.round(g) : g.toFixed(g >= 10 ? 1 : 2)} g`;
export const number_of = (text: string): string => text.trim().replace(",", ".");
export const past = (date: string): boolean => date.slice(0, 10) < today();

export function state_of(toner: Toner): string | null {
    if (toner.left_g <= 0) return t.shelf.out;
    return toner.left_g < toner.warn_g ? t.shelf.low : null;
}

const HEIGHT = 36, BOTTOM = 44;

/** The level in a bottle, against the fullest one on the shelf; by the square root, so that little is still seen. */
function Level({toner, full_g, css}: {toner: Toner; full_g: number; css: string | null}): JSX.Element {
    const of = (g: number): number => full_g > 0 ? HEIGHT * Math.sqrt(Math.min(1, g / full_g)) : 0;
    const level = toner.left_g > 0 ? Math.max(2, of(toner.left_g)) : 0;
    return <svg class="level" viewBox="0 0 28 48" aria-hidden="true">
        <path class={css ? undefined : "liquid"} {...(css ? {fill: css} : {})} d={`M4 ${BOTTOM - level}h20v${level}h-20z`}/>
        <path class="glass" d="M10 2h8v4l6 4v34h-20v-34l6-4z"/>
        {css && level === 0 && <rect x="5.5" y="21" width="17" height="13" fill={css}/>}
        {toner.warn_g > 0 && <path class="warn" d={`M0 ${BOTTOM - of(toner.warn_g)}h28`}/>}
    </svg>;
}

/** The toner's own colour, thick; the binder has none. */
function css_of(shelf: Shelf | null, toner: Toner): string | null {
    const bench = shelf?.toners_document as unknown as Bench | null | undefined;
    return bench?.toners?.[toner.id] ? toner_look(bench.toners[toner.id], bench.surface)?.css ?? null : null;
}

function TonerCard({toner, full_g, css}: {toner: Toner; full_g: number; css: string | null}): JSX.Element {
    const state = state_of(toner), old = toner.lots.some(lot => !lot.used_up && lot.left_g > 0 && lot.expires !== null && past(lot.expires));
    return <li><Link to={`/shelf/${toner.id}`} class="card with-picture">
        <Level toner={toner} full_g={full_g} css={css}/>
        <span class="body">
            <strong>{toner.name}</strong>
            <span class="of">{toner.left_g > 0 ? t.shelf.left(grams(toner.left_g)) : toner.lots.length ? t.shelf.out : t.shelf.no_bottle}</span>
            {state && toner.left_g > 0 && <span class="flag">{state}</span>}
            {old && <span class="flag">{t.shelf.a_lot_expired}</span>}
        </span>
    </Link></li>;
}

const in_stock = (toner: Toner): boolean => toner.left_g > 0;

export function ShelfPlace(): JSX.Element {
    const asked = useShelf(), toners = asked.value?.toners ?? [], full_g = Math.max(0, ...toners.map(one => one.left_g));
    const doing = useDoing();
    const save = (): void => void doing.go(async () => {
        save_as(await paper("toners swatch", {TONERS: "toners"}, {toners: {document: asked.value!.toners_document}}), "shelf.pdf");
    });
    return <Screen title={t.places.shelf}>
        <Told asked={asked}>
            {toners.length === 0 ? <p class="empty">{t.shelf.none}</p>
                : <ul class="cards two">{[...toners.filter(in_stock), ...toners.filter(one => !in_stock(one))].map(toner =>
                    <TonerCard key={toner.id} toner={toner} full_g={full_g} css={css_of(asked.value, toner)}/>)}</ul>}
            {toners.length > 0 && <Deeper word={t.shelf.receive}><Receive toners={toners} done={asked.again}/></Deeper>}
            <Deeper word={t.shelf.teach} open={toners.length === 0}>
                {asked.value?.shelf_at && <p>{t.shelf.since(moment(asked.value.shelf_at))}</p>}
                <Teach done={asked.again}/>
            </Deeper>
            {asked.value?.shelf && <p class="after"><Button busy={doing.busy} onClick={save}>{t.shelf.paper}</Button></p>}
            <Problem text={doing.error}/>
        </Told>
    </Screen>;
}
