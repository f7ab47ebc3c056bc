// The end of a pour, enlarged: the window at its line, and the pointer of the scale. The pot beside it is to scale; this is not.
import type {JSX} from "preact";
import {grams} from "../pot/layers";
import {t} from "../words/words";
import type {Now, Told} from "./pour";

const HIGH = 240, WIDE = 96, AXIS = 40, TOP = 12, BOTTOM = 228;

interface Props {
    now: Now;
    level: number;
    reading: number | null;
    told: Told | null;
    step: number;
}

export function Gauge({now, level, reading, told, step}: Props): JSX.Element {
    const low = Math.max(level, now.to_g - 10 * now.minus_g), high = now.to_g + 4 * now.plus_g;
    const y = (g: number): number => BOTTOM - Math.min(1, Math.max(0, (g - low) / (high - low))) * (BOTTOM - TOP);
    const up = y(now.to_g + now.plus_g), down = y(now.to_g - now.minus_g);
    const words = reading === null ? t.pour.gauge(grams(now.to_g, step)) : t.pour.gauge_at(grams(now.to_g, step), grams(reading, step), told ? t.pour.told[told] : "");
    return <svg class="gauge" viewBox={`0 0 ${WIDE} ${HIGH}`} role="img" aria-label={words}>
        <path class="gauge-axis" d={`M${AXIS} ${TOP}V${BOTTOM}`}/>
        <rect class="gauge-window" x={AXIS - 9} y={up} width={18} height={Math.max(2, down - up)}/>
        <path class="gauge-line" d={`M${AXIS - 14} ${y(now.to_g)}H${AXIS + 14}`}/>
        <text class="gauge-text" x={AXIS + 18} y={y(now.to_g) + 4}>{grams(now.to_g, step)}</text>
        {reading !== null && <path class="gauge-hand" d={`M${AXIS - 6} ${y(reading)}l-24 -11v22z`}/>}
    </svg>;
}
