// Places tapped on a photograph: two ends of something whose length is known, the outline of the panel, a sound place. A tap can be typed
// too, in pixels of the picture, for who cannot tap.
import type {JSX} from "preact";
import {useRef} from "preact/hooks";
import {Button, Field} from "../shell/ui";
import {t} from "../words/words";

export type Point = readonly [number, number];
export type What = "length" | "panel" | "sound";
export type Taps = Record<What, Point[]>;
export const NO_TAPS: Taps = {length: [], panel: [], sound: []};

/** A sound place is a square around its tap. */
const SOUND_PART = 16;
export function square(at: Point, wide: number, high: number): Point[] {
    const half = Math.round(wide / SOUND_PART), x = Math.min(Math.max(at[0], half), wide - half), y = Math.min(Math.max(at[1], half), high - half);
    return [[x - half, y - half], [x + half, y - half], [x + half, y + half], [x - half, y + half]];
}

const typed_of = (points: readonly Point[]): string => points.map(point => point.join(",")).join(" ");
const points_of = (text: string): Point[] => text.trim().split(/\s+/).flatMap(pair => {
    const [x, y] = pair.split(",").map(Number);
    return x !== undefined && y !== undefined && Number.isFinite(x) && Number.isFinite(y) ? [[x, y] as Point] : [];
});

interface Props {
    address: string;
    size: readonly [number, number];
    what: What;
    taps: Taps;
    set(taps: Taps): void;
}

export function TapPhoto({address, size: [wide, high], what, taps, set}: Props): JSX.Element {
    const image = useRef<HTMLImageElement>(null);
    const put = (points: Point[]): void => set({...taps, [what]: what === "length" ? points.slice(-2) : what === "sound" ? points.slice(-1) : points});
    const tap = (event: MouseEvent): void => {
        const box = image.current!.getBoundingClientRect();
        put([...taps[what], [Math.round((event.clientX - box.left) / box.width * wide), Math.round((event.clientY - box.top) / box.height * high)]]);
    };
    const line = (points: readonly Point[], closed: boolean): JSX.Element | null => points.length === 0 ? null : <g>
        {["tap-under", "tap-over"].map(name => <path key={name} class={name} d={`M${points.map(point => point.join(" ")).join("L")}${closed && points.length > 2 ? "Z" : ""}`}/>)}
        {points.map((point, i) => <circle key={i} class="tap-dot" cx={point[0]} cy={point[1]} r={wide / 90}/>)}
    </g>;
    return <div class="tap-spot">
        <p class="hint">{t.damage.tap[what]}</p>
        <div class="tap-photo">
            <img ref={image} src={address} alt={t.damage.photo} onClick={tap}/>
            <svg viewBox={`0 0 ${wide} ${high}`} aria-hidden="true">{line(taps.length, false)}{line(taps.panel, true)}{taps.sound[0] && line(square(taps.sound[0], wide, high), true)}</svg>
        </div>
        <Field label={t.damage.typed[what]} value={typed_of(taps[what])} set={text => put(points_of(text))}/>
        {taps[what].length > 0 && <Button quiet onClick={() => put(taps[what].slice(0, -1))}>{t.damage.last_tap}</Button>}
    </div>;
}
