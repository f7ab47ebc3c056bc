// The shop's ladder as a curve: gloss over the matte part, the target on it, and how far it may be off. The curve between the rows is
// monotone (Fritsch and Carlson 1980), as the program's is.
import type {JSX} from "preact";
import {t} from "../words/words";

export interface Row {
    matte: number;
    gu: number;
}

interface Props {
    rows: Row[];
    target: number;
    matte: number;
    interval: readonly [number, number];
}

const LEFT = 40, RIGHT = 296, TOP = 24, BOTTOM = 190, PIECES = 12;

/** Slopes at the rows that keep every piece monotone. */
export function slopes_of(rows: readonly Row[]): number[] {
    const d = rows.slice(1).map((row, i) => (row.gu - rows[i]!.gu) / (row.matte - rows[i]!.matte));
    return rows.map((_, i) => {
        const before = d[i - 1], after = d[i];
        if (before === undefined || after === undefined) return before ?? after ?? 0;
        return before * after <= 0 ? 0 : 2 * before * after / (before + after);
    });
}

export function gloss_at(rows: readonly Row[], slopes: readonly number[], matte: number): number {
    const i = Math.max(0, Math.min(rows.length - 2, rows.findIndex(row => row.matte > matte) - 1 + (matte >= rows[rows.length - 1]!.matte ? rows.length : 0)));
    const a = rows[i]!, b = rows[i + 1]!, h = b.matte - a.matte, u = (matte - a.matte) / h;
    return (1 + 2 * u) * (1 - u) ** 2 * a.gu + u * (1 - u) ** 2 * h * slopes[i]! + u * u * (3 - 2 * u) * b.gu + u * u * (u - 1) * h * slopes[i + 1]!;
}

export function Ladder({rows, target, matte, interval}: Props): JSX.Element | null {
    const sorted = [...rows].sort((a, b) => a.matte - b.matte);
    if (sorted.length < 2) return null;
    const most = Math.max(...sorted.map(row => row.gu), interval[1]) * 1.05, slopes = slopes_of(sorted);
    const x = (m: number): number => LEFT + m * (RIGHT - LEFT), y = (gu: number): number => BOTTOM - gu / most * (BOTTOM - TOP);
    const first = sorted[0]!.matte, last = sorted[sorted.length - 1]!.matte, count = PIECES * (sorted.length - 1);
    const path = [...Array(count + 1).keys()].map(i => {
        const m = first + i / count * (last - first);
        return `${i ? "L" : "M"}${x(m).toFixed(1)} ${y(gloss_at(sorted, slopes, m)).toFixed(1)}`;
    }).join("");
    return <figure class="curves">
        <svg viewBox="0 0 320 226" role="img" aria-label={t.sheen.curve(Math.round(100 * matte), target, interval)}>
            {[0, .5, 1].map(m => <text key={m} class="curve-text" x={x(m)} y={BOTTOM + 18} text-anchor="middle">{Math.round(100 * m)} %</text>)}
            <text class="curve-text" x={x(.5)} y={BOTTOM + 34} text-anchor="middle">{t.sheen.matte_axis}</text>
            <path class="curve-grid" d={`M${LEFT} ${BOTTOM}H${RIGHT}`}/>
            <path class="curve-line" d={path}/>
            {sorted.map(row => <rect key={row.matte} class="ladder-rung" x={x(row.matte) - 4} y={y(row.gu) - 4} width="8" height="8"/>)}
            <path class="curve-line curve-line-1" d={`M${LEFT} ${y(target)}H${x(matte)}V${BOTTOM}`}/>
            <path class="curve-line" d={`M${x(matte)} ${y(interval[1])}V${y(Math.max(0, interval[0]))}M${x(matte) - 6} ${y(interval[1])}h12M${x(matte) - 6} ${y(Math.max(0, interval[0]))}h12`}/>
            <circle class="ladder-target" cx={x(matte)} cy={y(target)} r="7"/>
            <text class="curve-text" x={LEFT - 4} y={y(target) + 4} text-anchor="end">{target}</text>
            <text class="curve-text" x={LEFT} y={12}>GU</text>
        </svg>
    </figure>;
}
