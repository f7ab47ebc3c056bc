// The ground is the target; what is predicted lies in it as a dab lies on the part, without a line around it. Three grounds side by
// side are three lights.
import type {JSX} from "preact";
import {t} from "../words/words";
import type {Light, Seen} from "./see";
import {LIGHTS, look} from "./see";
import "./swatch.css";

const DAB = "M38 45c1-13 13-21 27-20c15 1 22 8 21 20c-1 13-11 22-26 21c-14 0-23-9-22-21z";

/** Differences as a bench says them: the sizes of `adjust --by-eye` (docs/correct.md), half way between. */
export function difference_words(de00: number | null | undefined): string {
    if (de00 === null || de00 === undefined) return t.swatch.unknown;
    return de00 < .4 ? t.swatch.same : de00 < 1.2 ? t.swatch.just : de00 < 2.3 ? t.swatch.clear : t.swatch.strong;
}

interface GroundProps {
    light?: Light;
    ground: Seen;
    dab?: Seen | null;
    words: string;
}

export function Ground({light = "D65", ground, dab, words}: GroundProps): JSX.Element {
    const under = look(ground, light), lies = dab ? look(dab, light) : null;
    return <svg class="swatch-ground" viewBox="0 0 120 90" preserveAspectRatio="xMidYMid slice" role="img" aria-label={words}>
        {under ? <rect width="120" height="90" fill={under.css}/> : <rect class="ground-unknown" width="120" height="90"/>}
        {under && lies && <path d={DAB} fill={lies.css}/>}
    </svg>;
}

interface LightsProps {
    ground: Seen;
    dab?: Seen | null;
    de00?: Partial<Record<Light, number | null>>;
}

/** Target, and the dab in it, by daylight, lamp and shop light. */
export function Lights({ground, dab, de00}: LightsProps): JSX.Element {
    const seen = LIGHTS.filter(light => look(ground, light));
    const beyond = seen.filter(light => !look(ground, light)!.shown || (dab && look(dab, light)?.shown === false));
    return <div class="lights-block">
        <div class="lights" data-count={seen.length}>
            {seen.map(light => <figure key={light}>
                <Ground light={light} ground={ground} dab={dab ?? null}
                    words={dab ? t.swatch.pair(t.light[light], difference_words(de00?.[light])) : t.swatch.alone(t.light[light])}/>
                <figcaption>{t.light[light]}{dab && de00 && <small>{difference_words(de00[light])}</small>}</figcaption>
            </figure>)}
        </div>
        {seen.length < LIGHTS.length && <p class="quiet-line">{t.swatch.daylight_only}</p>}
        {beyond.length > 0 && <p class="quiet-line">{t.swatch.beyond(beyond.map(light => t.light[light]))}</p>}
    </div>;
}
