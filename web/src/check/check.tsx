// The final check: repair against sound part, spot by spot. Pass, fail, or it cannot be told from these readings.
import type {JSX} from "preact";
import {useState} from "preact/hooks";
import type {Files} from "../api/api";
import type {Asked} from "../api/operations";
import {run_once} from "../api/api";
import {useDraft} from "../job/draft";
import type {Document, Entry, Job} from "../job/job";
import {path_to} from "../job/place";
import {of_the_page, useDoing} from "../shell/ask";
import type {Place} from "../shell/reading";
import {is_place, NO_PLACE, place_argument, Reading} from "../shell/reading";
import {moment} from "../shell/time";
import {Button, Choice, Deeper, Field, Form, Link, Problem} from "../shell/ui";
import type {StepProps} from "../steps/steps";
import {add_step, step_named} from "../steps/steps";
import {t} from "../words/words";

interface Spot {
    name: string;
    sound: Place;
    repair: Place;
    gloss: string;
}
type Edge = "within" | "panel" | "fade";
const NEW_SPOT: Spot = {name: "", sound: NO_PLACE, repair: NO_PLACE, gloss: ""};

type Verdict = "pass" | "fail" | "unsure";
export const verdict_of = (entry: Entry | null): Verdict | null => {
    const said = entry?.document["verdict"];
    return said === "pass" || said === "fail" ? said : entry ? "unsure" : null;
};

/** What is checked; null: the job has one of them, or it does not matter. */
interface About {
    piece: string | null;
    colour: string | null;
}

const inspection_of = (job: Job, about: About): Entry | null => job.entries.filter(entry => entry.kind === "inspection"
    && (!about.piece || entry.piece === about.piece) && (!about.colour || entry.colour === about.colour)).pop() ?? null;

function with_verdict(job: Job, one: {id: string; name: string}, about: About): {value: string; word: string; about?: string} {
    const verdict = verdict_of(inspection_of(job, about));
    return {value: one.id, word: one.name, ...(verdict ? {about: t.check[verdict]} : {})};
}

function Verdict_({job, entry}: {job: Job; entry: Entry}): JSX.Element {
    const verdict = verdict_of(entry)!, dabs = step_named("dabs"), d = entry.document;
    const says = [d["text"], ...(d["notes"] as {text: string}[] | undefined ?? []).map(one => one.text)].filter(Boolean) as string[];
    return <section class={`verdict ${verdict}`} aria-label={t.step.check}>
        <p class="word"><span class="sign" aria-hidden="true"/><strong>{t.check[verdict]}</strong></p>
        <p class="hint">{moment(entry.at)}</p>
        {says.map((text, at) => <p key={at}>{of_the_page(text)}</p>)}
        <Deeper word={t.check.figures}><Figures document={d}/></Deeper>
        {verdict === "fail" && dabs && <Link class="button" to={path_to(job, dabs, job.colours[0] ?? null)}>{t.check.back_to_dabs}</Link>}
    </section>;
}

interface SpotFound {
    spot: string;
    lights: Record<string, {de00: number; tolerance: number}>;
}

function Figures({document: d}: {document: Document}): JSX.Element {
    return <table><tbody>{(d["spots"] as SpotFound[] | undefined ?? []).flatMap(spot => Object.entries(spot.lights).map(([light, {de00, tolerance}]) => <tr key={`${spot.spot} ${light}`}>
        <th scope="row">{spot.spot}, {t.check.names[light] ?? light}</th><td>{t.check.of(de00.toFixed(2), tolerance.toFixed(1))}</td>
    </tr>))}</tbody></table>;
}

function ByInstrument({job, reload, about}: StepProps & {about: About}): JSX.Element {
    const [draft, set, forget] = useDraft(`check ${job.id} ${about.piece ?? ""} ${about.colour ?? ""}`, {spots: [NEW_SPOT], edge: "panel" as Edge});
    const [short, set_short] = useState(false);
    const doing = useDoing();
    const set_spot = (at: number, more: Partial<Spot>): void => set({...draft, spots: draft.spots.map((spot, i) => i === at ? {...spot, ...more} : spot)});
    const send = (): void => {
        const whole = draft.spots.every(spot => is_place(spot.sound) && is_place(spot.repair));
        set_short(!whole);
        if (whole) void doing.go(async () => {
            const files: Files = {}, gloss = draft.spots.map(spot => spot.gloss.trim()).filter(Boolean);
            const args: Asked["inspect"] = {
                JOB: job.id, "--edge": draft.edge, "--piece": about.piece, "--colour": about.colour,
                "--sound": draft.spots.map((spot, at) => place_argument(spot.sound, `sound-${at}`, files)),
                "--repair": draft.spots.map((spot, at) => place_argument(spot.repair, `repair-${at}`, files)),
                "--spot": draft.spots.map((spot, at) => spot.name.trim() || `${t.check.spot} ${at + 1}`),
            };
            if (gloss.length === draft.spots.length) args["--gloss"] = gloss;
            await run_once("inspect", args, files);
            forget();
            await reload();
        });
    };
    return <Form send={send}>
        <p>{t.check.how}</p>
        {draft.spots.map((spot, at) => <section key={at} class="spot" aria-label={`${t.check.spot} ${at + 1}`}>
            <h2>{t.check.spot} {at + 1}</h2>
            <Field label={t.check.spot_name} hint={t.check.spot_hint} value={spot.name} set={name => set_spot(at, {name})}/>
            <div class="pair">
                <Reading label={t.check.sound} place={spot.sound} set={sound => set_spot(at, {sound})}/>
                <Reading label={t.check.repair} place={spot.repair} set={repair => set_spot(at, {repair})}/>
            </div>
            <Field label={t.check.gloss} unit={t.check.gloss_unit} hint={t.check.gloss_hint} value={spot.gloss} set={gloss => set_spot(at, {gloss})}/>
        </section>)}
        <Button onClick={() => set({...draft, spots: [...draft.spots, NEW_SPOT]})}>{t.check.add}</Button>
        <div class="gap"/>
        <Choice<Edge> label={t.check.edge} value={draft.edge} set={edge => set({...draft, edge})}
            from={(["within", "panel", "fade"] as const).map(value => ({value, word: t.check.edges[value]}))}/>
        <Problem text={short ? t.check.need : doing.error}/>
        <Button main submit busy={doing.busy}>{t.check.send}</Button>
    </Form>;
}

type Light = "day" | "lamp" | "shop";
type Eye = "hidden" | "seen";

function ByEye({job, log, about}: StepProps & {about: About}): JSX.Element {
    const [seen, set, forget] = useDraft<Partial<Record<Light, Eye>>>(`eye check ${job.id} ${about.piece ?? ""} ${about.colour ?? ""}`, {});
    const doing = useDoing(), lights: Light[] = ["day", "lamp", "shop"];
    const send = (): void => void doing.go(async () => {
        await log({kind: "eye-check", format: 1, lights: seen}, {...about, note: t.check.eye_note(lights.flatMap(light => seen[light] ? `${t.check.lights[light]}: ${t.check.eye[seen[light]!]}` : []).join("; "))});
        forget();
    });
    return <Form send={send}>
        <p>{t.check.eye_how}</p>
        {lights.map(light => <Choice<Eye> key={light} label={t.check.lights[light]} value={seen[light] ?? null} set={value => set({...seen, [light]: value})}
            from={[{value: "hidden", word: t.check.eye.hidden}, {value: "seen", word: t.check.eye.seen}]}/>)}
        <Problem text={doing.error}/>
        <Button submit busy={doing.busy} disabled={Object.keys(seen).length === 0}>{t.check.eye_send}</Button>
    </Form>;
}

function Check(p: StepProps): JSX.Element {
    const {pieces, colours} = p.job, [chosen, choose] = useDraft<{piece: string | null; colour: string | null}>(`check of ${p.job.id}`, {piece: null, colour: null});
    const about: About = {piece: pieces.length > 1 ? chosen.piece ?? pieces[0]!.id : null, colour: colours.length > 1 ? chosen.colour ?? colours[0]!.id : null};
    const newest = inspection_of(p.job, about);
    const [{again}, set] = useDraft(`check again ${p.job.id}`, {again: false}), set_again = (again: boolean): void => set({again});
    const eyes = p.entries.filter(entry => (entry.kind === "note" || entry.kind === "eye-check") && entry.words);
    return <>
        {about.piece && <Choice label={t.look.which_piece} value={about.piece} set={piece => choose({...chosen, piece})} from={pieces.map(one => with_verdict(p.job, one, {...about, piece: one.id}))}/>}
        {about.colour && <Choice label={t.which_colour} value={about.colour} set={colour => choose({...chosen, colour})} from={colours.map(one => with_verdict(p.job, one, {...about, colour: one.id}))}/>}
        {newest && <Verdict_ job={p.job} entry={newest}/>}
        {newest && !again ? <Button main={verdict_of(newest) !== "pass"} onClick={() => set_again(true)}>{t.check.again}</Button>
            : <ByInstrument key={`${about.piece} ${about.colour}`} {...p} about={about} reload={async () => {
                await p.reload();
                set_again(false);
            }}/>}
        {eyes.map(entry => <p key={entry.id} class="note">{entry.words}</p>)}
        <Deeper word={t.check.by_eye}><ByEye key={`${about.piece} ${about.colour}`} {...p} about={about}/></Deeper>
    </>;
}

add_step({
    name: "check", of: "job", screen: Check,
    outcome: job => {
        const all = job.pieces.length > 1 ? job.pieces.map(piece => verdict_of(inspection_of(job, {piece: piece.id, colour: null}))) : [verdict_of(inspection_of(job, {piece: null, colour: null}))];
        const worst = (["fail", "unsure", "pass"] as const).find(one => all.includes(one));
        const eye = job.entries.filter(entry => entry.kind === "eye-check").pop()?.document["lights"] as Record<string, Eye> | undefined;
        return worst ? worst === "pass" && all.includes(null) ? t.check.so_far(all.filter(Boolean).length, all.length) : t.check[worst]
            : eye ? Object.values(eye).includes("seen") ? t.check.eye_seen : t.check.eye_hidden : null;
    },
});
