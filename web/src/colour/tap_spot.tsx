// Where the colour is in a photograph: the card's window, or a spot that is tapped (x,y,r in the photograph's own pixels).
import type {JSX} from "preact";
import {useEffect, useRef, useState} from "preact/hooks";
import {Button, Field} from "../shell/ui";
import {t} from "../words/words";

const PART = 40; // the spot's radius is a 40th of the photograph's width

interface Props {
    photo: File;
    spot: string | null;
    set(spot: string | null): void;
}

function useAddress(photo: File): string | null {
    const [address, set] = useState<string | null>(null);
    useEffect(() => {
        const made = URL.createObjectURL(photo);
        set(made);
        return () => URL.revokeObjectURL(made);
    }, [photo]);
    return address;
}

export function TapSpot({photo, spot, set}: Props): JSX.Element | null {
    const address = useAddress(photo), image = useRef<HTMLImageElement>(null);
    const [open, set_open] = useState(false);
    const tap = (event: MouseEvent): void => {
        const box = image.current!.getBoundingClientRect(), scale = image.current!.naturalWidth / box.width;
        const x = (event.clientX - box.left) * scale, y = (event.clientY - box.top) * scale;
        set([x, y, image.current!.naturalWidth / PART].map(Math.round).join(","));
    };
    if (!open) return <p class="spot-where">{t.colour.spot_window} <Button quiet onClick={() => set_open(true)}>{t.colour.spot_other}</Button></p>;
    const [x, y, r] = (spot ?? "").split(",").map(Number), wide = image.current?.naturalWidth ?? 1, high = image.current?.naturalHeight ?? 1;
    return <div class="tap-spot">
        <p class="hint">{t.colour.spot_tap}</p>
        <div class="tap-photo">
            {address && <img ref={image} src={address} alt={t.colour.spot_photo} onClick={tap}/>}
            {spot && r !== undefined && <svg viewBox={`0 0 ${wide} ${high}`} aria-hidden="true">
                <circle cx={x} cy={y} r={r} class="spot-under"/><circle cx={x} cy={y} r={r} class="spot-over"/>
            </svg>}
        </div>
        <Field label={t.colour.spot_typed} value={spot ?? ""} set={text => set(text || null)}/>
        <Button quiet onClick={() => (set(null), set_open(false))}>{t.colour.spot_back}</Button>
    </div>;
}
