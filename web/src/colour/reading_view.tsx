// A reading: its colour first, then how sure it is in one sentence; figures one tap deeper.
import type {JSX} from "preact";
import type {Document} from "../job/job";
import {Deeper} from "../shell/ui";
import {Lights} from "../swatch/swatch";
import {t} from "../words/words";
import {Curves} from "./curve";

/** Half the width that holds 19 of 20, from the covariance in Lab: the largest axis is not looked for, the trace is its bound. */
function spread(document: Document): number | null {
    const cov = document["lab_cov"] as number[][] | undefined;
    return cov ? 2 * Math.sqrt(cov.reduce((sum, row, i) => sum + (row[i] ?? 0), 0) / 3) : null;
}

export function sureness(document: Document): string {
    const wide = spread(document);
    if (wide !== null) return t.colour.sure_photo(wide.toFixed(1));
    const rejected = (document["rejected"] as unknown[] | undefined)?.length ?? 0;
    const repeats = (document["repeats"] as number | undefined) ?? 1;
    return !document["reflectance"] ? t.colour.sure_lab : t.colour.sure_repeats(repeats, rejected);
}

export const Notes = ({of}: {of: Document | null | undefined}): JSX.Element | null => {
    const notes = (of?.["notes"] as {id: string; text: string}[] | undefined) ?? [];
    return notes.length === 0 ? null : <ul class="notes">{notes.map(note => <li key={note.id + note.text}>{t.notes[note.id] ?? note.text}</li>)}</ul>;
};

export function ReadingFigures({document}: {document: Document}): JSX.Element {
    const lab = document["lab"] as number[] | null, rejected = (document["rejected"] as {id: string; why: string}[] | undefined) ?? [];
    return <>
        <dl class="figures">
            {lab && ["L*", "a*", "b*"].map((name, i) => <><dt key={name}>{name}</dt><dd>{lab[i]!.toFixed(2)}</dd></>)}
            {document["repeat_de00"] && <><dt>{t.colour.repeats_differ}</dt><dd>{document["repeat_de00"].mean.toFixed(2)} dE00</dd></>}
        </dl>
        {rejected.length > 0 && <><p><b>{t.colour.left_out}</b></p><ul class="notes">{rejected.map(r => <li key={r.id}>{r.id}: {r.why}</li>)}</ul></>}
        {document["reflectance"] && <Curves lines={[{word: t.curve.target, reflectance: document["reflectance"]}]}/>}
    </>;
}

export function ReadingView({document}: {document: Document}): JSX.Element {
    return <>
        <Lights ground={document}/>
        <p class="sentence">{sureness(document)}</p>
        <Notes of={document}/>
        <Deeper word={t.figures}><ReadingFigures document={document}/></Deeper>
    </>;
}
