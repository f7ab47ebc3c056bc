// A place of colour: what an instrument wrote, or L, a, b typed in. The file is read by the program at once, and what
// comes out (one reading) is what is kept, so that a reload loses nothing.
import type {JSX} from "preact";
import {file_of, run} from "../api/api";
import type {FileOf} from "../api/api";
import type {Document} from "../job/job";
import {t} from "../words/words";
import {useDoing} from "./ask";
import {Button, Field, FileButton, Problem} from "./ui";

export interface Place {
    document?: Document;
    name?: string;
    lab: string;
}

export const NO_PLACE: Place = {lab: ""};

export const is_place = (place: Place): boolean => place.document !== undefined || lab_of(place.lab) !== null;

function lab_of(text: string): string | null {
    const parts = text.trim().split(/[\s;]+|,\s*/).filter(Boolean);
    return parts.length === 3 && parts.every(part => Number.isFinite(Number(part))) ? parts.join(",") : null;
}

/** As an argument of a verb: the name of a file in `files`, or --lab=... in its place. */
export function place_argument(place: Place, name: string, files: Record<string, FileOf>): string {
    if (!place.document) return `--lab=${lab_of(place.lab)}`;
    files[name] = {document: place.document};
    return name;
}

export function Reading({label, place, set}: {label: string; place: Place; set(place: Place): void}): JSX.Element {
    const doing = useDoing();
    const read = (file: File): void => void doing.go(async () => {
        const {reply} = await run<Document>("reading", {FILE: [file.name]}, {[file.name]: await file_of(file)});
        set({document: reply, name: file.name, lab: ""});
    });
    return <fieldset class="reading">
        <legend>{label}</legend>
        {place.document ? <p class="row"><span>{t.check.remembered(place.name ?? "")}</span><Button quiet onClick={() => set(NO_PLACE)}>{t.remove}</Button></p> : <>
            <FileButton word={t.check.file} accept=".txt,.cgats,.cxf,.csv,.json,.it8,text/*" busy={doing.busy} chosen={([file]) => file && read(file)}/>
            <Field label={t.check.lab} hint={t.check.lab_hint} value={place.lab} set={lab => set({lab})}/>
        </>}
        <Problem text={doing.error}/>
    </fieldset>;
}
