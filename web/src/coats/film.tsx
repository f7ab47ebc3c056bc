// Film against hiding: the coats lie on each other over the ground, to scale, and a line says from where nothing shows through.
import type {JSX} from "preact";
import type {Seen} from "../swatch/see";
import {look} from "../swatch/see";
import {t} from "../words/words";

interface Props {
    coats: {coat: number; film_um: number; hides: boolean}[];
    to_hide_um: number | null;
    colour: Seen | null;
}

const LEFT = 8, RIGHT = 228, BOTTOM = 196, TOP = 14;

export function FilmPicture({coats, to_hide_um, colour}: Props): JSX.Element {
    const last = coats[coats.length - 1]?.film_um ?? 0, most = 1.08 * Math.max(last, to_hide_um ?? 0, 1), seen = colour ? look(colour) : null;
    const y = (um: number): number => BOTTOM - um / most * (BOTTOM - TOP);
    const words = to_hide_um === null ? t.coats.picture(coats.length, Math.round(last)) : t.coats.picture_hides(coats.length, Math.round(last), Math.round(to_hide_um));
    return <figure class="film">
        <svg viewBox="0 0 328 216" role="img" aria-label={words}>
            {coats.map((coat, i) => {
                const from = coats[i - 1]?.film_um ?? 0, right = RIGHT - 6 * i % 18;
                return <rect key={coat.coat} class={seen ? undefined : "film-grey"} x={LEFT} width={right - LEFT} y={y(coat.film_um) + .75}
                    height={Math.max(1, y(from) - y(coat.film_um) - 1.5)} {...seen ? {fill: seen.css} : {}}/>;
            })}
            <path class="film-ground" d={`M0 ${BOTTOM + 4}H${RIGHT + 8}`}/>
            <text class="film-text" x={RIGHT + 14} y={BOTTOM + 8}>{t.coats.ground}</text>
            {to_hide_um !== null && <>
                <path class="film-line" d={`M0 ${y(to_hide_um)}H${RIGHT + 8}`}/>
                <text class="film-text" x={RIGHT + 14} y={y(to_hide_um) + 1}>{t.coats.hides_here}</text>
                <text class="film-text" x={RIGHT + 14} y={y(to_hide_um) + 17}>{Math.round(to_hide_um)} µm</text>
            </>}
            {(to_hide_um === null || Math.abs(y(last) - y(to_hide_um)) > 34) &&
                <text class="film-text" x={RIGHT + 14} y={y(last) + 5}>{Math.round(last)} µm</text>}
        </svg>
    </figure>;
}
