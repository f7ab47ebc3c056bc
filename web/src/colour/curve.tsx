// Reflectance over wavelength, 400..700 nm: what an instrument saw, and what a recipe is to give. Lines differ by dashes; a finger or a
// mouse on the chart reads off the figures there. Drawn by uPlot (npm), which a screen reader gets as one sentence.
import type {JSX} from "preact";
import {useEffect, useRef, useState} from "preact/hooks";
import uPlot from "uplot";
import {t} from "../words/words";

interface Line {
    word: string;
    reflectance: readonly number[];
}

const HIGH = 200, NM = [...Array(31).keys()].map(band => 400 + 10 * band), DASHES = [[], [6, 4], [2, 3]];

function draw(host: HTMLElement, lines: readonly Line[], most: number, point: (band: number | null) => void): uPlot {
    const style = getComputedStyle(host), ink = style.getPropertyValue("--ink").trim(), soft = style.getPropertyValue("--soft").trim(), grid = {stroke: style.getPropertyValue("--line").trim(), width: 1};
    const axis = {stroke: soft, grid, ticks: {show: false}, font: `13px ${style.fontFamily}`};
    return new uPlot({
        width: host.clientWidth || 320, height: HIGH, legend: {show: false}, cursor: {y: false, drag: {x: false, y: false, setScale: false}, points: {size: 8}},
        scales: {x: {time: false, range: [400, 700]}, y: {range: [0, most]}},
        axes: [{...axis, splits: [400, 500, 600, 700], values: (_, at) => at.map(String)}, {...axis, size: 48, splits: [0, most / 2, most], values: (_, at) => at.map(part => `${Math.round(100 * part)} %`)}],
        series: [{}, ...lines.map((_, i) => ({stroke: ink, width: 2, dash: DASHES[i % DASHES.length]!, points: {show: false}}))],
        hooks: {setCursor: [plot => point(plot.cursor.idx ?? null)]},
    }, [NM, ...lines.map(line => [...line.reflectance])], host);
}

export function Curves({lines}: {lines: Line[]}): JSX.Element {
    const host = useRef<HTMLDivElement>(null), [band, set_band] = useState<number | null>(null);
    const most = Math.max(.1, Math.ceil(10 * Math.max(...lines.flatMap(line => line.reflectance))) / 10);
    useEffect(() => {
        const plot = draw(host.current!, lines, most, set_band), fit = new ResizeObserver(() => plot.setSize({width: host.current?.clientWidth || 320, height: HIGH}));
        fit.observe(host.current!);
        return () => {
            fit.disconnect();
            plot.destroy();
        };
    }, [JSON.stringify(lines)]);
    const label = `${t.curve.label}: ${lines.map(line => line.word).join(", ")}. ${t.curve.ends(
        lines.map(line => ({word: line.word, low: Math.round(100 * line.reflectance[0]!), high: Math.round(100 * line.reflectance[30]!)})))}`;
    return <figure class="curves">
        <div ref={host} class="chart" role="img" aria-label={label}/>
        <figcaption>{lines.map((line, i) => <span key={line.word}>
            <svg class="curve-key" viewBox="0 0 36 8" aria-hidden="true"><path class={`curve-line curve-line-${i}`} d="M0 4H36"/></svg>{line.word}{band !== null && <b> {(100 * line.reflectance[band]!).toFixed(1)} %</b>}
        </span>)} <small>{band === null ? t.curve.axis : `${NM[band]} nm`}</small></figcaption>
    </figure>;
}
