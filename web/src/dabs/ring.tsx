// A ring of dabs on the target's colour: tap the one that is nearest to the part, or the two it lies between.
import type {JSX} from "preact";
import type {Document} from "../job/job";
import {grams, short_name} from "../pot/layers";
import {Deeper} from "../shell/ui";
import type {Seen} from "../swatch/see";
import {ink_on, look} from "../swatch/see";
import {t} from "../words/words";

export interface Dab extends Seen {
    dab: number;
    says: string;
    pot_g: number;
    additions: {toner: string; name: string; g: number}[];
}

/** What is stirred before the dabs: pinches too small for the scale, 1 to 9 in binder. */
interface LetDown {
    toner: string;
    toner_g: number;
    binder_g: number;
    binder: string;
}

interface Props {
    ring: Document;
    target: Seen;
    nearest: number[];
    set(nearest: number[]): void;
}

const WIDE = 360, HIGH = 380, PRESS = 76;
/** The outline of a dab about 0,0; each is turned another way. */
const DAB = "M-36 2c0-22 16-36 36-37c22-1 37 14 38 34c1 22-13 38-36 39c-22 1-38-14-38-36z";

function place(dab: number, count: number): {x: number; y: number} {
    const angle = 2 * Math.PI * (dab - 1) / (count - 1) - Math.PI / 2, out = dab === 0 ? 0 : 1;
    return {x: WIDE / 2 + out * 125 * Math.cos(angle), y: HIGH / 2 + out * 137 * Math.sin(angle)};
}

export function Ring({ring, target, nearest, set}: Props): JSX.Element {
    const dabs = ring["dabs"] as Dab[], ground = look(target), let_downs = (ring["let_downs"] ?? []) as LetDown[];
    const name_of = (toner: string): string => short_name(dabs.flatMap(dab => dab.additions).find(one => one.toner === toner)?.name ?? toner);
    const press = (dab: number): void =>
        set(nearest.includes(dab) ? nearest.filter(one => one !== dab) : [...nearest, dab].slice(-2));
    return <>
        <p>{t.dabs.ring_what}</p>
        <div class="ring" role="group" aria-label={t.dabs.ring_label}>
            <svg viewBox={`0 0 ${WIDE} ${HIGH}`} preserveAspectRatio="none" aria-hidden="true">
                <rect width={WIDE} height={HIGH} fill={ground?.css ?? "none"}/>
                {dabs.map(dab => {
                    const {x, y} = place(dab.dab, dabs.length);
                    return <path key={dab.dab} d={DAB} fill={look(dab)?.css ?? "none"} transform={`translate(${x} ${y}) rotate(${50 * dab.dab})`}/>;
                })}
            </svg>
            {dabs.map(dab => {
                const on = nearest.includes(dab.dab), seen = look(dab), {x, y} = place(dab.dab, dabs.length);
                return <button key={dab.dab} type="button" class="ring-dab" aria-pressed={on} aria-label={t.dabs.dab(dab.dab, dab.says)}
                    onClick={() => press(dab.dab)} style={{left: `${100 * x / WIDE}%`, top: `${100 * y / HIGH}%`, width: PRESS, height: PRESS, color: seen ? ink_on(seen) : "inherit"}}>
                    <span aria-hidden="true">{on ? "\u2713 " : ""}{dab.dab}</span>
                </button>;
            })}
        </div>
        <p class="pour-told" role="status">{nearest.length === 0 ? t.dabs.none_tapped
            : t.dabs.tapped(nearest.map(n => dabs.find(dab => dab.dab === n)!).map(dab => `${dab.dab} (${dab.says})`))}</p>
        <Deeper word={t.dabs.mix_dabs} open={nearest.length === 0}>
            {let_downs.length > 0 && <ul class="plain">{let_downs.map(one =>
                <li key={one.toner}>{t.dabs.ring_let_down(name_of(one.toner), grams(one.toner_g), grams(one.binder_g), one.binder)}</li>)}</ul>}
            <ol class="dab-list">{dabs.map(dab => <li key={dab.dab}>
                <b>{dab.dab}</b> <span>{t.dabs.dab_mix(grams(dab.pot_g), dab.additions.map(one => `${grams(one.g, .01)} g ${short_name(one.name)}`))}</span>
            </li>)}</ol>
        </Deeper>
    </>;
}
