// Reflectance over wavelength, 400..700 nm: what an instrument saw, and what a recipe is to give. Lines differ by dashes.
import type {JSX} from "preact";
import {t} from "../words/words";

interface Line {
    word: string;
    reflectance: readonly number[];
}

const LEFT = 42, RIGHT = 300, TOP = 8, BOTTOM = 150;

export function Curves({lines}: {lines: Line[]}): JSX.Element {
    const most = Math.max(.1, Math.ceil(10 * Math.max(...lines.flatMap(line => line.reflectance))) / 10);
    const x = (band: number): number => LEFT + band / 30 * (RIGHT - LEFT), y = (r: number): number => BOTTOM - r / most * (BOTTOM - TOP);
    const path = (line: Line): string => line.reflectance.map((r, i) => `${i ? "L" : "M"}${x(i).toFixed(1)} ${y(r).toFixed(1)}`).join("");
    const label = `${t.curve.label}: ${lines.map(line => line.word).join(", ")}. ${t.curve.ends(
        lines.map(line => ({word: line.word, low: Math.round(100 * line.reflectance[0]!), high: Math.round(100 * line.reflectance[30]!)})))}`;
    return <figure class="curves">
        <svg viewBox="0 0 320 176" role="img" aria-label={label}>
            {[0, .5, 1].map(part => <g key={part}>
                <path class="curve-grid" d={`M${LEFT} ${y(part * most)}H${RIGHT}`}/>
                <text class="curve-text" x={LEFT - 4} y={y(part * most) + 4} text-anchor="end">{Math.round(100 * part * most)} %</text>
            </g>)}
            {[400, 500, 600, 700].map(nm => <text key={nm} class="curve-text" x={x((nm - 400) / 10)} y={168} text-anchor="middle">{nm}</text>)}
            {lines.map((line, i) => <path key={line.word} class={`curve-line curve-line-${i}`} d={path(line)}/>)}
        </svg>
        <figcaption>{lines.map((line, i) => <span key={line.word}>
            <svg class="curve-key" viewBox="0 0 36 8" aria-hidden="true"><path class={`curve-line curve-line-${i}`} d="M0 4H36"/></svg>{line.word}
        </span>)} <small>{t.curve.axis}</small></figcaption>
    </figure>;
}
