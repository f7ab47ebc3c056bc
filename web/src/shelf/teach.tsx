// How the bench learns a shelf: from drawdowns that were measured, or on the first day from what stands on the labels.
import type {JSX} from "preact";
import {useState} from "preact/hooks";
import {file_of, run, run_once, run_watched} from "../api/api";
import {useDraft} from "../job/draft";
import type {Document} from "../job/job";
import type {Bench} from "../pot/layers";
import {toner_look} from "../pot/layers";
import {useDoing} from "../shell/ask";
import {Button, Field, FileButton, Form, Note, Problem, Progress} from "../shell/ui";
import {t} from "../words/words";

interface Doubt {
    id?: string;
    text?: string;
}

function Learnt({made, keep, cancel, busy}: {made: Document; keep(): void; cancel(): void; busy: boolean}): JSX.Element {
    const toners = made["toners"] as Document[] | Record<string, Document>;
    const names: [string, string | null][] = Array.isArray(toners) ? toners.map(one => [one["name"] || one["id"], null])
        : Object.entries(toners).map(([id, one]) => [one["name"] || id, toner_look(one as Bench["toners"][string], made["surface"] ?? {})?.css ?? null]);
    const doubts = (made["disbelieved"] ?? []) as Doubt[];
    return <section aria-label={t.shelf.fitted}>
        <h2>{t.shelf.fitted}</h2>
        <ul class="plain learnt">{names.map(([name, css]) => <li key={name}><svg viewBox="0 0 1 1" aria-hidden="true">{css && <rect width="1" height="1" fill={css}/>}</svg>{name}</li>)}</ul>
        {doubts.length > 0 && <><h2>{t.shelf.doubted}</h2><ul class="plain">{doubts.map((one, at) =>
            <li key={at}>{one.id}: {one.text}</li>)}</ul></>}
        <Button main busy={busy} onClick={keep}>{t.shelf.keep}</Button>
        <div class="row"><Button busy={busy} onClick={cancel}>{t.cancel}</Button></div>
    </section>;
}

export function Teach({done}: {done(): Promise<void>}): JSX.Element {
    const [made, set_made] = useState<Document | null>(null), [kept, set_kept] = useState(false);
    const [about, set_about] = useState<File | null>(null), [part, set_part] = useState<number | null>(null);
    const [draft, set_draft, forget] = useDraft("labels", {labels: ""});
    const doing = useDoing();
    const fit = (file: File): void => void doing.go(async () => {
        set_kept(false);
        const files = {[file.name]: await file_of(file), ...(about ? {about: await file_of(about)} : {})};
        set_made((await run_watched<Document>(["toners fit", {DRAWDOWNS: file.name, ...(about ? {"--about": "about"} : {})}, files], set_part)).reply);
    }).finally(() => set_part(null));
    const start = (): void => void doing.go(async () => {
        set_kept(false);
        const index = draft.labels.split(/[\n,]/).map(line => line.replace(/\s+/g, "")).filter(Boolean).join(",");
        set_made((await run<Document>("toners start", {"--index": index})).reply);
    });
    const keep = (): void => void doing.go(async () => {
        await run_once("shelf keep", {TONERS: "toners"}, {toners: {document: made}});
        set_made(null);
        set_kept(true);
        forget();
        await done();
    });
    return <>
        {kept && <Note><p role="status">{t.shelf.kept}</p></Note>}
        <Problem text={doing.error}/>
        <Progress part={part}/>
        {made ? <Learnt made={made} keep={keep} cancel={() => set_made(null)} busy={doing.busy}/> : <>
            <h2>{t.shelf.measured}</h2>
            <p>{t.shelf.measured_how}</p>
            <div class="row">
                <FileButton word={about ? about.name : t.shelf.about} accept=".json,application/json" busy={doing.busy} chosen={([file]) => set_about(file ?? null)}/>
                <FileButton word={t.shelf.choose} accept=".txt,.cgats,.csv,text/*" busy={doing.busy} chosen={([file]) => file && fit(file)}/>
            </div>
            <h2>{t.shelf.labels}</h2>
            <p>{t.shelf.labels_how}</p>
            <Form send={start}>
                <Field label={t.shelf.labels_label} hint={t.shelf.labels_hint} lines={3} value={draft.labels} set={labels => set_draft({labels})}/>
                <Button submit busy={doing.busy} disabled={!draft.labels.trim()}>{t.shelf.start}</Button>
            </Form>
        </>}
    </>;
}
