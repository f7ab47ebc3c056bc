// A reading: its colour first, then how sure it is in one sentence; figures one tap deeper.
import type {JSX} from "preact";
import type {Document} from "../job/job";
import {of_the_page} from "../shell/ask";
import {Deeper} from "../shell/ui";
import {Lights} from "../swatch/swatch";
import {t} from "../words/words";
import {Curves} from "./curve";

/** How far off it may be, in dE00 and 19 of 20 times; null where nobody said. */
export const spread = (document: Document): number | null => (document["u95_de00"] as number | null | undefined) ?? null;

export function sureness(document: Document): string {
    const wide = spread(document);
    if (wide !== null) return t.colour.sure_photo(wide.toFixed(1));
    const rejected = (document["rejected"] as unknown[] | undefined)?.length ?? 0;
    const repeats = (document["repeats"] as number | undefined) ?? 1;
    return !document["reflectance"] ? t.colour.sure_lab : t.colour.sure_repeats(repeats, rejected);
}

/** So many notes stand open; more are a tap away. */
const AT_ONCE = 3;

export const Notes = ({of}: {of: Document | null | undefined}): JSX.Element | null => {
    const notes = (of?.["notes"] as {id: string; text: string}[] | undefined) ?? [];
    const lines = [...new Set(notes.map(note => t.notes[note.id] ?? of_the_page(note.text)))], list = (some: string[]): JSX.Element =>
        <ul class="notes">{some.map(text => <li key={text}>{text}</li>)}</ul>;
    if (lines.length <= AT_ONCE) return lines.length === 0 ? null : list(lines);
    return <>{list(lines.slice(0, AT_ONCE - 1))}<Deeper word={t.more_notes(lines.length - AT_ONCE + 1)}>{list(lines.slice(AT_ONCE - 1))}</Deeper></>;
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
