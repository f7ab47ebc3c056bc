// The ways to a reading: an instrument's file, Lab that is typed in, photographs with the card.
import type {JSX} from "preact";
import {useEffect, useState} from "preact/hooks";
import type {Files} from "../api/api";
import type {Asked} from "../api/operations";
import {run, run_watched} from "../api/api";
import type {Document} from "../job/job";
import {useDoing} from "../shell/ask";
import {Button, Choice, Deeper, Field, Form, Problem} from "../shell/ui";
import {t} from "../words/words";
import {ChooseFiles, files_of} from "./choose_files";
import {useDraft} from "./draft";
import {number_of} from "./numbers";
import {TapDab, TapSpot} from "./tap_spot";
import "./colour.css";

export type Way = "instrument" | "lab" | "photo";

interface Got {
    /** A reading that came out, with the photographs it was made from. */
    got(reading: Document, photos: Blob[]): Promise<void> | void;
}

const GEOMETRIES = ["sci", "sce", "45-0"] as const;

function Instrument({got}: Got): JSX.Element {
    const [files, set_files] = useState<File[]>([]);
    const [geometry, set_geometry] = useDraft<typeof GEOMETRIES[number] | null>("geometry", null);
    const doing = useDoing();
    const read = (): Promise<boolean> => doing.go(async () => {
        const sent: Files = {}, names = await files_of(files, sent);
        await got((await run<Document>("reading", {FILE: names, "--geometry": geometry}, sent)).reply, []);
    });
    return <Form send={() => void read()}>
        <ChooseFiles label={t.colour.file} hint={t.colour.file_hint} accept=".txt,.cgats,.it8,.cie,.cxf,.xml,.csv,.json" many
            files={files} set={set_files}/>
        <Deeper word={t.colour.geometry}>
            <Choice<typeof GEOMETRIES[number]> label={t.colour.geometry} hint={t.colour.geometry_hint} value={geometry} set={set_geometry}
                from={GEOMETRIES.map(value => ({value, word: t.colour.geometries[value]}))}/>
        </Deeper>
        <Problem text={doing.error}/>
        <Button submit main busy={doing.busy} disabled={files.length === 0}>{t.colour.read}</Button>
    </Form>;
}

function Lab({got}: Got): JSX.Element {
    const [lab, set] = useDraft<[string, string, string]>("typed lab", ["", "", ""]);
    const doing = useDoing(), whole = lab.every(text => number_of(text) !== null);
    const change = (at: number, text: string): void => set(lab.map((old, i) => i === at ? text : old) as [string, string, string]);
    const read = (): Promise<boolean> => doing.go(async () => {
        await got((await run<Document>("reading", {"--lab": lab.map(number_of).join(",")})).reply, []);
        set(["", "", ""]);
    });
    return <Form send={() => void read()}>
        <p class="hint">{t.colour.lab_hint}</p>
        <div class="three">
            {(["L*", "a*", "b*"] as const).map((label, i) =>
                <Field key={label} label={label} value={lab[i]!} set={text => change(i, text)}/>)}
        </div>
        <Problem text={doing.error}/>
        <Button submit main busy={doing.busy} disabled={!whole}>{t.colour.read}</Button>
    </Form>;
}

export type CardKind = "frame" | "file" | "today";

interface PhotoProps extends Got {
    /** The shelf: reflectance is then estimated from its mixes. */
    toners?: Document | null;
    /** The card of the first day (docs/same-day.md), when there is one. */
    today?: Document | null;
    /** A dab lies in the photograph too: how it differs from the spot is read with it. */
    dab?: boolean;
}

/** The card as the verb takes it; a chart of 24 in its frame is known to the program itself. */
async function put_card(kind: CardKind, file: readonly File[], today: Document | null | undefined, into: Files): Promise<void> {
    if (kind === "frame") into["card.json"] = {document: (await run<Document>("card", {"--kind": "frame"})).reply};
    else if (kind === "today" && today) into["card.json"] = {document: today};
    else into["card.json"] = {text: await file[0]!.text()};
}

export function Photographs({got, toners, today, dab}: PhotoProps): JSX.Element {
    const [photos, set_photos] = useState<File[]>([]);
    const [kind, set_kind] = useState<CardKind>(today ? "today" : "frame");
    const [card, set_card] = useState<File[]>([]);
    const [spot, set_spot] = useState<string | null>(null), [against, set_against] = useState<string | null>(null);
    const [done, set_done] = useState<number | null>(null);
    const doing = useDoing();
    useEffect(() => (set_spot(null), set_against(null)), [photos]);
    const read = (): Promise<boolean> => doing.go(async () => {
        const sent: Files = {}, names = await files_of(photos, sent), args: Asked["photo colour"] = {PHOTO: names, "--card": "card.json"};
        await put_card(kind, card, today, sent);
        if (toners) sent["toners.json"] = {document: toners}, args["--toners"] = "toners.json";
        if (spot) args["--spot"] = spot;
        if (against) args["--against"] = against;
        set_done(0);
        try {
            await got((await run_watched<Document>(["photo colour", args, sent], set_done)).reply, photos);
        } finally {
            set_done(null);
        }
    });
    const kinds = (["today", "frame", "file"] as const).filter(one => one !== "today" || today);
    return <Form send={() => void read()}>
        <ChooseFiles label={t.colour.photos} hint={t.colour.photos_hint} accept="image/*,.dng,.heic,.tif" many files={photos} set={set_photos}/>
        <Choice<CardKind> label={t.colour.card} value={kind} set={set_kind} from={kinds.map(value => ({value, ...t.colour.cards[value]}))}/>
        {kind === "file" && <ChooseFiles label={t.colour.card_file} hint={t.colour.card_file_hint} accept=".json" files={card} set={set_card}/>}
        {photos[0] && <TapSpot photo={photos[0]} spot={spot} set={set_spot} beside={dab === true}/>}
        {dab && photos[0] && <TapDab photo={photos[0]} spot={against} set={set_against}/>}
        <Problem text={doing.error}/>
        {done !== null && <progress aria-label={t.colour.reading_photos} value={done || undefined} max={1}/>}
        <Button submit main busy={doing.busy} disabled={photos.length === 0 || (dab && !(spot && against)) || (kind === "file" && card.length === 0)}>{t.colour.read}</Button>
    </Form>;
}

interface WaysProps extends PhotoProps {
    ways: readonly Way[];
    label: string;
}

export function ReadingWays({ways, label, ...rest}: WaysProps): JSX.Element {
    const [way, set] = useDraft<Way | null>(`way ${label}`, null);
    return <>
        <Choice<Way> label={label} value={way} set={set} from={ways.map(value => ({value, ...t.colour.ways[value]}))}/>
        {way === "instrument" && <Instrument got={rest.got}/>}
        {way === "lab" && <Lab got={rest.got}/>}
        {way === "photo" && <Photographs {...rest}/>}
    </>;
}
