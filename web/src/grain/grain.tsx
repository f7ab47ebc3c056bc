// The step "grain": the relief of the sound part and of the repair as pictures, whether they are the same, and the gun's next shot.
import type {JSX} from "preact";
import {photo_address, run_once} from "../api/api";
import {Notes} from "../colour/reading_view";
import type {Colour, Document, Entry, Job} from "../job/job";
import {useDraft} from "../job/draft";
import {entry_file, last_of} from "../job/job";
import {useDoing} from "../shell/ask";
import {moment} from "../shell/time";
import {Button, Deeper, Field, Form, Note, Problem} from "../shell/ui";
import type {StepProps} from "../steps/steps";
import {add_step} from "../steps/steps";
import {t} from "../words/words";
import "./grain.css";
import {Gun} from "./gun";
import type {Whose} from "./read";
import {ReadGrain} from "./read";

const grain_of = (entries: readonly Entry[], whose: Whose): Entry | null => entries.filter(entry => entry.kind === "grain" && entry.document["whose"] === whose).pop() ?? null;

/** The comparison of the two that stand now; null when one was read since. */
const compared = (entries: readonly Entry[]): Document | null => {
    const entry = entries.filter(one => one.kind === "grain-comparison").pop(), sound = grain_of(entries, "sound"), repair = grain_of(entries, "repair");
    return entry && entry.document["of"]?.join() === [sound?.id, repair?.id].join() ? entry.document : null;
};

function Relief({whose, entry}: {whose: Whose; entry: Entry | null}): JSX.Element {
    const d = entry?.document, sha256 = entry?.photographs[0];
    return <figure class="relief">
        <figcaption><strong>{t.grain.of[whose]}</strong></figcaption>
        {sha256 ? <img src={photo_address(sha256, 1600)} alt={t.grain.relief(t.grain.of[whose])}/> : <div class="relief-none">{t.grain.not_read}</div>}
        {d && <p>{t.grain.size((d["Sal_mm"] as number).toFixed(2), (d["Sa_um"] as number).toFixed(0))}<br/><small>{moment(entry!.at)}</small></p>}
        <Notes of={d}/>
    </figure>;
}

interface Parameter {
    parameter: string;
    a: number;
    b: number;
    u95: number;
    verdict: "same" | "different" | "not told";
}

function Comparison({d}: {d: Document}): JSX.Element {
    const same = d["same"] as boolean;
    return <section class={`verdict ${same ? "pass" : "fail"}`} aria-label={t.step.grain}>
        <p class="word"><span class="sign" aria-hidden="true"/><strong>{same ? t.grain.same : t.grain.different}</strong></p>
        <Notes of={d}/>
        <Deeper word={t.grain.figures}><table>
            <thead><tr><th scope="col">ISO 25178-2</th><th scope="col">{t.grain.of.sound}</th><th scope="col">{t.grain.of.repair}</th><td/></tr></thead>
            <tbody>{(d["parameters"] as Parameter[]).map(p => <tr key={p.parameter}>
                <th scope="row">{p.parameter.replace("_", ", ")}</th><td>{p.a.toPrecision(3)}</td><td>{p.b.toPrecision(3)}</td><td>{t.grain.verdicts[p.verdict]}</td>
            </tr>)}</tbody>
        </table></Deeper>
    </section>;
}

function Compare({sound, repair, log}: {sound: Entry; repair: Entry; log: StepProps["log"]}): JSX.Element {
    const doing = useDoing();
    const compare = (): void => void doing.go(async () => {
        const {reply} = await run_once<Document>("grain compare", {A: "sound", B: "repair"}, {sound: entry_file(sound), repair: entry_file(repair)});
        await log({...reply, of: [sound.id, repair.id]});
    });
    return <><Problem text={doing.error}/><Button main busy={doing.busy} onClick={compare}>{t.grain.compare}</Button></>;
}

/** Brought back by feel, without photographs: what was done goes into the record. */
function ByHand({job, entries, log}: StepProps): JSX.Element {
    const [draft, set, forget] = useDraft(`grain by hand ${job.id}`, {note: ""}), doing = useDoing();
    const keep = (): Promise<boolean> => doing.go(async () => {
        await log(null, {note: draft.note.trim()});
        forget();
    });
    return <>
        {entries.filter(entry => entry.kind === "note" && entry.words).map(entry => <Note key={entry.id}><p>{entry.words}</p></Note>)}
        <Deeper word={t.grain.by_hand}><Form send={() => void keep()}>
            <Field label={t.grain.done_by_hand} hint={t.grain.done_hint} lines={2} value={draft.note} set={note => set({note})}/>
            <Problem text={doing.error}/>
            <Button submit busy={doing.busy} disabled={!draft.note.trim()}>{t.grain.keep_done}</Button>
        </Form></Deeper>
    </>;
}

function Grain(p: StepProps): JSX.Element {
    const {entries, log, next} = p;
    const sound = grain_of(entries, "sound"), repair = grain_of(entries, "repair"), d = compared(entries);
    const found = async (document: Document, relief: Blob | null): Promise<void> => {
        await log(document, relief ? {photos: [relief]} : {});
        scrollTo(0, 0);
    };
    const none = !sound && !repair;
    return <>
        <p>{t.grain.what}</p>
        {!none && <div class="pair"><Relief whose="sound" entry={sound}/><Relief whose="repair" entry={repair}/></div>}
        {d ? <Comparison d={d}/> : sound && repair && <Compare sound={sound} repair={repair} log={log}/>}
        {d?.["same"] && <Button main onClick={next}>{t.grain.onward}</Button>}
        <Deeper word={t.grain.read_title} open={none}><ReadGrain found={found}/></Deeper>
        <ByHand {...p}/>
        {sound && <Deeper word={t.grain.gun_title} open={d !== null && !d["same"]}><Gun entries={entries} sound={sound} repair={repair} log={log}/></Deeper>}
    </>;
}

add_step({
    name: "grain", of: "job", screen: Grain, leads_on: true,
    done: (job: Job, _colour: Colour | null) => last_of(job, "grain") !== null,
    outcome: (job: Job) => {
        const entries = job.entries.filter(entry => entry.step === "grain"), d = compared(entries);
        return d ? (d["same"] ? t.grain.same : t.grain.different) : grain_of(entries, "sound") ? t.grain.sound_read : entries.filter(entry => entry.kind === "note").pop()?.words || null;
    },
});
