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

interface Props {
    ring: Document;
    target: Seen;
    nearest: number[];
    set(nearest: number[]): void;
}

const SHAPES = ["58% 42% 51% 49% / 47% 55% 45% 53%", "49% 51% 44% 56% / 55% 46% 54% 45%", "53% 47% 57% 43% / 44% 52% 48% 56%"];

function place(dab: number, count: number): {left: string; top: string} {
    if (dab === 0) return {left: "50%", top: "50%"};
    const angle = 2 * Math.PI * (dab - 1) / (count - 1) - Math.PI / 2;
    return {left: `${50 + 34 * Math.cos(angle)}%`, top: `${50 + 36 * Math.sin(angle)}%`};
}

export function Ring({ring, target, nearest, set}: Props): JSX.Element {
    const dabs = ring["dabs"] as Dab[], ground = look(target);
    const press = (dab: number): void =>
        set(nearest.includes(dab) ? nearest.filter(one => one !== dab) : [...nearest, dab].slice(-2));
    return <>
        <p>{t.dabs.ring_what}</p>
        <div class="ring" role="group" aria-label={t.dabs.ring_label} style={{background: ground?.css ?? "none"}}>
            {dabs.map(dab => {
                const seen = look(dab), on = nearest.includes(dab.dab);
                return <button key={dab.dab} type="button" class="ring-dab" aria-pressed={on} aria-label={t.dabs.dab(dab.dab, dab.says)}
                    onClick={() => press(dab.dab)} style={{...place(dab.dab, dabs.length), background: seen?.css ?? "none",
                        color: seen ? ink_on(seen) : "inherit", borderRadius: SHAPES[dab.dab % SHAPES.length]}}>
                    <span aria-hidden="true">{on ? "✓ " : ""}{dab.dab}</span>
                </button>;
            })}
        </div>
        <p class="pour-told" role="status">{nearest.length === 0 ? t.dabs.none_tapped
            : t.dabs.tapped(nearest.map(n => dabs.find(dab => dab.dab === n)!).map(dab => `${dab.dab} (${dab.says})`))}</p>
        <Deeper word={t.dabs.mix_dabs} open={nearest.length === 0}>
            <ol class="dab-list">{dabs.map(dab => <li key={dab.dab}>
                <b>{dab.dab}</b> <span>{t.dabs.dab_mix(grams(dab.pot_g), dab.additions.map(one => `${grams(one.g, .01)} g ${short_name(one.name)}`))}</span>
            </li>)}</ol>
        </Deeper>
    </>;
}
