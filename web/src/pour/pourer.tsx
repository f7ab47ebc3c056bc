// One pour: the pot that fills to the next line, one large figure, and the reading, typed or from the scale.
import type {ComponentChildren, JSX} from "preact";
import {useEffect, useId, useRef} from "preact/hooks";
import {number_of} from "../colour/numbers";
import {useDraft} from "../colour/draft";
import type {Layer} from "../pot/layers";
import {grams, short_name} from "../pot/layers";
import type {Live} from "../pot/pot";
import {NamedPot} from "../pot/pot";
import {Button} from "../shell/ui";
import {t} from "../words/words";
import {Gauge} from "./gauge";
import type {Now, Told} from "./pour";
import type {Scale} from "./scale";
import {useScale, useWakeLock} from "./scale";
import {Tone} from "./tone";
import "./pour.css";

/** So long a reading must rest inside its window before it counts as poured; within so many digits it rests (src/paint/pouring.h). */
const REST_MS = 1800, REST_DIGITS = 2;

interface Props {
    now: Now;
    level: number;
    step: number;
    layers: Layer[];
    full_ml: number;
    live_css: string | null;
    ml_at(g: number): number;
    tell(reading: number): Told;
    take(reading: number): void;
    busy: boolean;
    children?: ComponentChildren;
}

function useTone(scale: Scale, told: Told | null, p: Props): [boolean, (on: boolean) => void] {
    const [on, set] = useDraft("tone", true), tone = useRef<Tone | null>(null);
    useEffect(() => () => tone.current?.stop(), []);
    useEffect(() => {
        if (scale.state !== "there" || !on || !tone.current) return tone.current?.tell(null);
        const heard = told === "in" || told === "over" ? told : told === "short" ? "short" as const : null;
        tone.current.tell(heard && {told: heard, part: (scale.reading.g - p.level) / Math.max(p.step, p.now.to_g - p.level)});
    }, [scale, told, on]);
    useEffect(() => {
        const touch = (): void => {
            tone.current ??= new Tone();
            if (on) tone.current.start();
        };
        if ((navigator as {userActivation?: {hasBeenActive: boolean}}).userActivation?.hasBeenActive) touch(); // the press that began the pour is enough
        addEventListener("pointerdown", touch);
        addEventListener("keydown", touch);
        return () => (removeEventListener("pointerdown", touch), removeEventListener("keydown", touch));
    }, [on]);
    return [on, set];
}

/** What rests inside its window is poured; what rests beyond it waits for a hand. */
function useResting(scale: Scale, told: Told | null, p: Props): void {
    const since = useRef(0), from = useRef(0), taken = useRef(false);
    useEffect(() => {
        taken.current = false;
        since.current = 0;
    }, [p.now.to_g, p.level]);
    useEffect(() => {
        if (scale.state !== "there" || scale.reading.still === false || told !== "in" || p.busy || taken.current) return void (since.current = 0);
        const {g, step_g} = scale.reading, moved = Math.abs(g - from.current) > (REST_DIGITS + .01) * Math.max(step_g, p.step);
        if (!since.current || moved) since.current = Date.now(), from.current = g;
        if (Date.now() - since.current < REST_MS) return;
        taken.current = true;
        p.take(scale.reading.g);
    }, [scale]);
}

function LargeFigure({now, scale, step}: {now: Now; scale: Scale; step: number}): JSX.Element {
    const live = scale.state === "there", left = now.to_g - (live ? scale.reading.g : 0);
    return <p class="large">
        <span class="large-says">{live ? left < 0 ? t.pour.past : t.pour.still : t.pour.until}</span>
        <b>{grams(live ? Math.abs(left) : now.to_g, step)}<small> g</small></b>
        <span class="large-says">{live ? t.pour.upto(grams(now.to_g, step)) : t.pour.gives(grams(now.g, step))}
            {t.pour.window(grams(now.minus_g, step), grams(now.plus_g, step))}</span>
    </p>;
}

const LetDownWords = ({now, step}: {now: Now; step: number}): JSX.Element | null => now.let_down && <p class="let-down">{now.let_down.stirred
    ? t.pour.let_down_again(short_name(now.name))
    : t.pour.let_down(grams(now.let_down.toner_g, step), short_name(now.name), grams(now.let_down.binder_g, step))}</p>;

export function Pourer(p: Props): JSX.Element {
    const {now, level, step} = p, id = useId(), input = useRef<HTMLInputElement>(null);
    const [typed, set_typed] = useDraft(`reading ${now.as} ${now.to_g} ${level}`, "");
    const scale = useScale(), reading = scale.state === "there" ? scale.reading.g : number_of(typed);
    const told = reading === null ? null : p.tell(reading);
    const [sound, set_sound] = useTone(scale, told, p);
    useResting(scale, told, p);
    const awake = useWakeLock(true), usable = told === "short" || told === "in" || told === "over";
    const live: Live | null = reading !== null && reading > level ? {ml: p.ml_at(reading), css: p.live_css} : null;
    const send = (): void => {
        if (reading === null || !usable || p.busy) return;
        p.take(reading);
        set_typed("");
        input.current?.focus();
    };
    const poured = <Button submit main busy={p.busy} disabled={!usable}>{told === "over" ? t.pour.take_over : told === "short" ? t.pour.take_short : t.pour.take}</Button>;
    return <form class="pourer" noValidate onSubmit={event => (event.preventDefault(), send())}>
        <h2 class="pour-name" aria-live="polite">{t.pour.pour(short_name(now.name))}</h2>
        {now.lot && <p class="hint">{t.pour.out_of(now.lot)}</p>}
        <LetDownWords now={now} step={step}/>
        <LargeFigure now={now} scale={scale} step={step}/>
        {scale.state === "there" ? null : <>
            {scale.state === "lost" && <p role="status">{t.pour.scale_lost}</p>}
            {scale.state === "trouble" && <p role="status">{t.pour.scale_says[scale.trouble]}</p>}
            <label class="reading-label" for={id}>{t.pour.reading}<span class="unit"> (g)</span></label>
            <div class="reading-row">
                <input ref={input} id={id} class="reading" inputMode="decimal" autocomplete="off" value={typed}
                    onInput={event => set_typed(event.currentTarget.value)}/>
                {poured}
            </div>
        </>}
        <p class="pour-told" role="status">{told && told !== "nothing" ? t.pour.told[told] : ""}</p>
        <div class="pour-picture">
            <NamedPot layers={p.layers} full_ml={p.full_ml} step={step} live={live} label={t.pour.in_pot} tight/>
            <Gauge now={now} level={level} reading={reading} told={told} step={step}/>
        </div>
        {scale.state === "there" && poured}
        <div class="row">
            {scale.state === "there" && <Button pressed={!sound} onClick={() => set_sound(!sound)}>{t.pour.mute}</Button>}
            {p.children}
        </div>
        <p class="hint">{awake ? t.pour.awake : t.pour.not_awake}</p>
    </form>;
}
