// Where the colour is in a photograph: the card's window, or a spot that is tapped (x,y,r in the photograph's own pixels).
import type {JSX} from "preact";
import {useEffect, useMemo, useRef, useState} from "preact/hooks";
import {useAsked} from "../shell/ask";
import type {Seen} from "../shell/picture";
import {seen} from "../shell/picture";
import {Button, Field, Told} from "../shell/ui";
import {t} from "../words/words";

const PART = 40; // the spot's radius is a 40th of the photograph's width
const NEAR = 4, NEAR_PART = 120; // enlarged so often after the first tap: two halves of a card's window are told apart, in a glove too

interface Props {
    photo: File;
    spot: string | null;
    set(spot: string | null): void;
}

function Tapped({picture: {bytes, size: [wide, high], step}, spot, set, alt}: {picture: Seen; alt: string} & Omit<Props, "photo">): JSX.Element {
    const image = useRef<HTMLImageElement>(null), address = useMemo(() => URL.createObjectURL(bytes), [bytes]);
    useEffect(() => () => URL.revokeObjectURL(address), [address]);
    const [near, set_near] = useState<readonly [number, number] | null>(null); // the middle of what is shown, in parts of the photograph
    useEffect(() => set_near(null), [bytes]);
    const tap = (event: MouseEvent): void => {
        const box = image.current!.getBoundingClientRect(), scale = wide * step / box.width;
        const at = [(event.clientX - box.left) / box.width, (event.clientY - box.top) / box.height].map(part => Math.min(Math.max(part, .5 / NEAR), 1 - .5 / NEAR));
        set([(event.clientX - box.left) * scale, (event.clientY - box.top) * scale, wide * step / (near ? NEAR_PART : PART)].map(Math.round).join(","));
        if (!near) set_near([at[0]!, at[1]!]);
    };
    const [x, y, r] = (spot ?? "").split(",").map(text => Number(text) / step);
    const moved = near ? near.map(part => `${(.5 - NEAR * part) * 100}%`) : null;
    return <>
        <div class="tap-photo">
            <div class="tap-layer" style={moved ? {transform: `translate(${moved.join(", ")}) scale(${NEAR})`} : {}}>
                <img ref={image} src={address} alt={alt} onClick={tap}/>
                {spot && r !== undefined && <svg viewBox={`0 0 ${wide} ${high}`} aria-hidden="true">
                    <circle cx={x} cy={y} r={r} class="spot-under"/><circle cx={x} cy={y} r={r} class="spot-over"/>
                </svg>}
            </div>
        </div>
        {near && <p class="hint">{t.colour.tap_again} <Button quiet onClick={() => set_near(null)}>{t.colour.tap_whole}</Button></p>}
    </>;
}

function Tap({photo, spot, set, hint, alt, typed}: Props & {hint: string; alt: string; typed: string}): JSX.Element {
    const asked = useAsked(() => seen(photo), photo);
    return <>
        <p class="hint">{hint}</p>
        <Told asked={asked}>{asked.value && <Tapped picture={asked.value} spot={spot} set={set} alt={alt}/>}</Told>
        <Field label={typed} value={spot ?? ""} set={text => set(text || null)}/>
    </>;
}

/** beside: a dab lies in the photograph too, so that the window as a whole is not the spot. */
export function TapSpot({photo, spot, set, beside}: Props & {beside?: boolean}): JSX.Element | null {
    const [open, set_open] = useState(false);
    if (beside) return <div class="tap-spot"><Tap photo={photo} spot={spot} set={set} hint={t.colour.spot_beside} alt={t.colour.spot_photo} typed={t.colour.spot_typed}/></div>;
    if (!open) return <p class="spot-where">{t.colour.spot_window} <Button quiet onClick={() => set_open(true)}>{t.colour.spot_other}</Button></p>;
    return <div class="tap-spot">
        <Tap photo={photo} spot={spot} set={set} hint={t.colour.spot_tap} alt={t.colour.spot_photo} typed={t.colour.spot_typed}/>
        <Button quiet onClick={() => (set(null), set_open(false))}>{t.colour.spot_back}</Button>
    </div>;
}

/** Where the dab lies in the same photograph. */
export const TapDab = (place: Props): JSX.Element =>
    <div class="tap-spot"><Tap {...place} hint={t.colour.dab_tap} alt={t.colour.dab_photo} typed={t.colour.dab_typed}/></div>;
