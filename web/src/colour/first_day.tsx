// The first day, without an instrument and without a bought chart (docs/same-day.md): toners by what their labels say, a sheet of dabs,
// one photograph of it. What was reached is kept on this device until the shelf is in the book.
import type {ComponentChildren, JSX} from "preact";
import {useState} from "preact/hooks";
import type {Files} from "../api/api";
import type {Asked} from "../api/operations";
import {paper, run, run_once, run_watched} from "../api/api";
import type {Document} from "../job/job";
import {useDoing} from "../shell/ask";
import {Button, Caution, Field, Form, Problem} from "../shell/ui";
import {t} from "../words/words";
import {ChooseFiles, files_of} from "./choose_files";
import {useDraft} from "./draft";
import {save_blob} from "./save";
import {Notes} from "./reading_view";

export interface FirstDay {
    index: string;
    shelf: Document | null;
    sheet: Document | null;
    toners: Document | null;
    /** The card that the spot is photographed with: the sheet's own dabs. */
    dabs: Document | null;
}

const NOTHING: FirstDay = {index: "", shelf: null, sheet: null, toners: null, dabs: null};
export const useFirstDay = (): [FirstDay, (day: FirstDay) => void] => useDraft("first day", NOTHING);

interface PartProps {
    day: FirstDay;
    set(day: FirstDay): void;
}

const Part = ({title, done, children}: {title: string; done?: boolean; children: ComponentChildren}): JSX.Element =>
    <li><h2>{title}{done && <> <small>{t.first_day.done}</small></>}</h2>{children}</li>;

function NameToners({day, set}: PartProps): JSX.Element {
    const [index, set_index] = useDraft("first day labels", day.index);
    const doing = useDoing();
    const start = (): Promise<boolean> => doing.go(async () => {
        const plain = index.split(/[\n,]+/).map(line => line.trim().replace(/\s+/g, "")).filter(Boolean).join(",");
        set({...NOTHING, index, shelf: (await run<Document>("toners start", {"--index": plain})).reply});
    });
    return <Form send={() => void start()}>
        <p>{t.first_day.name_does}</p>
        <Field label={t.first_day.index} hint={t.first_day.index_hint} lines={5} value={index} set={set_index}/>
        <Problem text={doing.error}/>
        <Button submit busy={doing.busy} disabled={!index.trim()}>{t.first_day.make}</Button>
    </Form>;
}

function PrintSheet({shelf}: {shelf: Document}): JSX.Element {
    const doing = useDoing();
    const print = (): Promise<boolean> => doing.go(async () => save_blob(
        await paper("card", {"--kind": "start", "--toners": "shelf.json", "--steps-for": "page"}, {"shelf.json": {document: shelf}}), "sheet.pdf"));
    return <><p>{t.first_day.print_does}</p><Problem text={doing.error}/>
        <Button busy={doing.busy} onClick={() => void print()}>{t.first_day.print}</Button></>;
}

async function read_sheet(day: FirstDay, photos: File[], progress: (done: number) => void): Promise<FirstDay> {
    const shelf = {document: day.shelf!}, start = (await run<Document>("card", {"--kind": "start", "--toners": "shelf.json"}, {"shelf.json": shelf})).reply;
    const files: Files = {"start.json": {document: start}}, names = await files_of(photos, files);
    const args: Asked["photo colour"] = {PHOTO: names, "--card": "start.json"};
    const sheet = (await run_watched<Document>(["photo colour", args, files], progress)).reply;
    const toners = (await run<Document>("toners fit", {DRAWDOWNS: "sheet.json", "--prior": "shelf.json"},
        {"sheet.json": {document: sheet}, "shelf.json": shelf})).reply;
    const dabs = (await run<Document>("card", {"--card": "start.json", "--values": "sheet.json"},
        {"start.json": {document: start}, "sheet.json": {document: sheet}})).reply;
    return {...day, sheet, toners, dabs};
}

function Sheet({day, set}: PartProps): JSX.Element {
    const [photos, set_photos] = useState<File[]>([]), [done, set_done] = useState<number | null>(null);
    const doing = useDoing();
    const read = (): Promise<boolean> => doing.go(async () => {
        try {
            set(await read_sheet(day, photos, set_done));
        } finally {
            set_done(null);
        }
    });
    return <Form send={() => void read()}>
        <p>{t.first_day.sheet_does}</p>
        <ChooseFiles label={t.first_day.sheet_photo} accept="image/*,.dng,.heic,.tif" files={photos} set={set_photos}/>
        <Problem text={doing.error}/>
        {done !== null && <progress aria-label={t.colour.reading_photos} value={done || undefined} max={1}/>}
        <Button submit busy={doing.busy} disabled={photos.length === 0}>{t.first_day.read_sheet}</Button>
        <Notes of={day.toners}/>
    </Form>;
}

function KeepShelf({toners, kept}: {toners: Document; kept(): Promise<void>}): JSX.Element {
    const doing = useDoing();
    const keep = (): Promise<boolean> => doing.go(async () => {
        await run_once("shelf keep", {TONERS: "toners.json", "--words": t.first_day.keep_words}, {"toners.json": {document: toners}});
        await kept();
    });
    return <><Caution><p>{t.first_day.keep_caution}</p></Caution><Problem text={doing.error}/>
        <Button busy={doing.busy} onClick={() => void keep()}>{t.first_day.keep}</Button></>;
}

export function FirstDayWalk({day, set, kept}: PartProps & {kept(): Promise<void>}): JSX.Element {
    const [in_book, set_in_book] = useState(false);
    return <ol class="steps-of-day">
        <Part title={t.first_day.name} done={!!day.shelf}><NameToners day={day} set={set}/></Part>
        {day.shelf && <Part title={t.first_day.sheet}><PrintSheet shelf={day.shelf}/></Part>}
        {day.shelf && <Part title={t.first_day.dab}><p>{t.first_day.dab_does}</p></Part>}
        {day.shelf && <Part title={t.first_day.photograph} done={!!day.toners}><Sheet day={day} set={set}/></Part>}
        {day.toners && <Part title={t.first_day.shelf} done={in_book}><KeepShelf toners={day.toners} kept={async () => {
            await kept();
            set_in_book(true);
        }}/></Part>}
        {day.dabs && <Part title={t.first_day.spot}><p>{t.first_day.spot_does}</p></Part>}
    </ol>;
}
