// Reading a grain: photographs from one standpoint, the torch at another hour of the clock in each.
import type {JSX} from "preact";
import {useState} from "preact/hooks";
import type {Files} from "../api/api";
import {run_watched} from "../api/api";
import {ChooseFiles, files_of} from "../colour/choose_files";
import {useDraft} from "../colour/draft";
import {number_of} from "../colour/numbers";
import type {Document} from "../job/job";
import {useDoing} from "../shell/ask";
import {png_of, seen} from "../shell/picture";
import {Button, Choice, Field, Form, Problem, Progress} from "../shell/ui";
import {t} from "../words/words";

export type Whose = "sound" | "repair";
const HOURS = ["12", "3", "6", "9"] as const;
type Hour = typeof HOURS[number];

interface Torch {
    whose: Whose;
    first: Hour;
    turn: "clock" | "against";
    elevation: string;
    distance: string;
    wide: string;
}

const TORCH: Torch = {whose: "sound", first: "12", turn: "clock", elevation: "35", distance: "400", wide: ""};

/** Where the torch stood: azimuth from the picture's right, counter-clockwise; three o'clock is 0, twelve is 90 degrees. */
export function lights_of(names: readonly string[], torch: Pick<Torch, "first" | "turn" | "elevation" | "distance">): Document {
    const from = 90 - 30 * Number(torch.first), step = 360 / names.length * (torch.turn === "clock" ? -1 : 1);
    return {lights: names.map((photo, i) => ({photo, azimuth_deg: ((from + i * step) % 360 + 360) % 360, elevation_deg: number_of(torch.elevation) ?? 0,
        distance_mm: number_of(torch.distance) ?? 0}))};
}

interface Props {
    found(document: Document, relief: Blob | null): Promise<void>;
}

export function ReadGrain({found}: Props): JSX.Element {
    const [torch, set] = useDraft<Torch>("torch", TORCH), [photos, set_photos] = useState<File[]>([]), [part, set_part] = useState<number | null>(null);
    const doing = useDoing(), field = (name: "elevation" | "distance" | "wide", unit: string, hint?: string) =>
        <Field label={t.grain.torch[name]} unit={unit} mode="decimal" value={torch[name]} set={value => set({...torch, [name]: value})} {...(hint ? {hint} : {})}/>;
    const send = (): void => void doing.go(async () => {
        const files: Files = {}, names = await files_of(photos, files), {size: [wide], step} = await seen(photos[0]!);
        files["lights.json"] = {document: lights_of(names, torch)};
        const ran = await run_watched<Document>(["photo grain", {PHOTO: names, "--lights": "lights.json", "--mm-per-px": number_of(torch.wide)! / (wide * step),
            "--relief-out": "relief.png"}, files], set_part);
        await found({...ran.reply, whose: torch.whose}, png_of(ran.written["relief.png"]));
        set_photos([]);
    }).finally(() => set_part(null));
    return <Form send={send}>
        <Choice<Whose> label={t.grain.whose} value={torch.whose} set={whose => set({...torch, whose})} from={(["sound", "repair"] as const).map(value => ({value, word: t.grain.of[value]}))}/>
        <ChooseFiles label={t.grain.photos} hint={t.grain.photos_hint} accept="image/*,.dng,.heic,.tif,.tiff" many files={photos} set={set_photos}/>
        {field("wide", "mm", t.grain.wide_hint)}
        <Choice<Hour> label={t.grain.first} hint={t.grain.first_hint} value={torch.first} set={first => set({...torch, first})} from={HOURS.map(value => ({value, word: t.grain.hour(value)}))}/>
        <Choice<Torch["turn"]> label={t.grain.turn} value={torch.turn} set={turn => set({...torch, turn})} from={(["clock", "against"] as const).map(value => ({value, word: t.grain.turns[value]}))}/>
        {field("elevation", "°", t.grain.elevation_hint)}
        {field("distance", "mm")}
        <Progress part={part}/>
        <Problem text={doing.error}/>
        <Button main submit busy={doing.busy} disabled={photos.length < 3 || !(number_of(torch.wide)! > 0) || !(number_of(torch.elevation)! > 0) || !(number_of(torch.distance)! > 0)}>{t.grain.read}</Button>
    </Form>;
}
