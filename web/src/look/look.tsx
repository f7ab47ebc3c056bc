// The first look: the airbag question before all else, then what it is and what is wrong with it. What comes out is the
// plan of `russet plan` (gate, steps, cautions, hours), logged for the piece; price and preparation are made from it.
import type {JSX} from "preact";
import {useEffect, useState} from "preact/hooks";
import type {Asked} from "../api/operations";
import {run, run_once} from "../api/api";
import {Damage, seen_in_damage} from "../damage/damage";
import {useDraft} from "../job/draft";
import type {Colour, Document, Entry, Job} from "../job/job";
import {last_of} from "../job/job";
import {sentence_of, useDoing} from "../shell/ask";
import {Photos} from "../shell/photos";
import {Button, Caution, Choice, Deeper, Field, Form, Many, Note, Problem} from "../shell/ui";
import type {StepProps} from "../steps/steps";
import {add_step} from "../steps/steps";
import {t} from "../words/words";

type Yes = "yes" | "no" | "unknown";
type Finish = "plain" | "metal" | "pearl";
type Special = "perforated" | "ventilated" | "heated" | "agreed";
const SPECIALS: Special[] = ["perforated", "ventilated", "heated", "agreed"];

interface Seen {
    airbag: Yes | null;
    craft: string | null;
    place: string | null;
    material: string | null;
    damage: string[];
    area: string;
    line: string;
    spots: string;
    specials: Special[];
    edge: "break" | "fade";
    by: NonNullable<Asked["plan"]["--by"]>;
    crosslinker: NonNullable<Asked["plan"]["--crosslinker"]>;
    fire: "none" | "needed" | null;
    finish: Finish;
    mark: string;
    recoloured: Yes;
    note: string;
}

const UNSEEN: Seen = {airbag: null, craft: null, place: null, material: null, damage: [], area: "", line: "", spots: "", specials: [], edge: "break",
    by: "gun", crosslinker: "unknown", fire: null, finish: "plain", mark: "", recoloured: "unknown", note: ""};

export interface Plan extends Document {
    gate: {answer: string; says: {id: string; text: string}[]};
    refused?: string;
}

export const plan_of = (job: Job, piece: string | null): Entry | null =>
    job.entries.filter(entry => entry.kind === "plan" && entry.piece === piece).pop() ?? null;

export const plans_of = (job: Job): Entry[] => job.entries.filter(entry => entry.kind === "plan");

const options_of = <V extends string>(words: Record<V, string>): {value: V; word: string}[] =>
    (Object.keys(words) as V[]).map(value => ({value, word: words[value]}));

/** The form that made a plan, so that a second look begins with the first one. */
function seen_in(entry: Entry | null): Seen {
    const d = entry?.document;
    if (!entry || !d) return UNSEEN;
    const size = d["size"] ?? {}, figure = (n: unknown): string => typeof n === "number" && n > 0 ? String(n) : "";
    return {...UNSEEN, ...(d["seen"] as Partial<Seen> ?? {}), airbag: d["airbag"] ?? null, craft: d["craft"] ?? null, place: d["place"] ?? null,
        material: d["material"] ?? null, damage: d["damage"] ?? [], area: figure(size.area_m2), line: figure(size.line_mm), spots: figure(size.spots), note: entry.words};
}

const number_of = (text: string): string | undefined => text.trim().replace(",", ".") || undefined;

/** The mark moulded into its back says which plastic it is, and that says what holds on it. */
const is_plastic = (seen: Seen): boolean => seen.material === "plastic" || seen.material === "soft-touch";

function arguments_of(seen: Seen, colours: number): Asked["plan"] {
    return {
        "--craft": seen.craft, "--place": seen.place, "--material": seen.material, "--damage": seen.damage.join(","), "--airbag": seen.airbag ?? "unknown",
        "--area-m2": number_of(seen.area), "--line-mm": number_of(seen.line), "--spots": number_of(seen.spots), "--colours": Math.max(1, colours),
        "--edge": seen.edge, "--by": seen.by, "--crosslinker": seen.crosslinker, "--fire": seen.fire, "--look": seen.finish, "--recoloured": seen.recoloured, "--mark": is_plastic(seen) && seen.mark.trim() || undefined,
        ...Object.fromEntries(seen.specials.map(name => [`--${name}`, true])),
    };
}

const ask_plan = async (seen: Seen, colours: number): Promise<Plan> => (await run<Plan>("plan", arguments_of(seen, colours))).reply;

/** What the gate says as soon as it can: material and damage do not open or close the airbag's gate. */
function useGate(seen: Seen): {plan: Plan | null; error: string | null} {
    const [told, set] = useState<{plan: Plan | null; error: string | null}>({plan: null, error: null});
    const {airbag, craft, place, material, damage, specials, fire, finish} = seen;
    useEffect(() => {
        let late = false;
        if (!airbag || !craft || !place) return set({plan: null, error: null});
        ask_plan({...seen, material: material ?? "leather", damage: damage.length ? damage : ["worn"]}, 1)
            .then(plan => late || set({plan, error: null}), (error: unknown) => late || set({plan: null, error: sentence_of(error)}));
        return () => void (late = true);
    }, [airbag, craft, place, material, damage.join(), specials.join(), fire, finish]);
    return told;
}

export function Gate({plan}: {plan: Plan}): JSX.Element | null {
    const {answer, says} = plan.gate, stop = answer === "stop" || plan.refused !== undefined;
    if (!stop && says.length === 0) return <Note><p><strong>{t.look.may}</strong></p></Note>;
    return <Caution>
        <p><strong>{stop ? t.look.stop : t.look.mind}</strong></p>
        {says.map(one => <p key={one.id}>{one.text}</p>)}
        {plan.refused && !says.some(one => one.text === plan.refused) && <p>{plan.refused}</p>}
    </Caution>;
}

/** What there is of an armchair, of a motorcycle, of a boat; all else has all of it. */
const FURNITURE = ["seat", "seat-back", "headrest", "cushion", "trim"], ON_WATER = ["seat", "seat-back", "headrest", "cushion", "wheel-rim", "dash", "door-card", "console", "gear", "trim"];
const PARTS_OF: Record<string, string[]> = {furniture: FURNITURE, "contract-furniture": FURNITURE, motorcycle: ["seat", "seat-back", "console", "trim"], boat: ON_WATER, "work-boat": ON_WATER};
const parts_of = (seen: Seen): {value: string; word: string}[] => options_of(t.look.places).filter(({value}) => value === seen.place || !seen.craft || (PARTS_OF[seen.craft]?.includes(value) ?? true));

/** What the pieces that were looked at belong to: the next one most likely does too. */
const craft_of = (job: Job): string | null => (plans_of(job).pop()?.document["craft"] as string | undefined) ?? null;

interface LookProps {
    job: Job;
    piece: string | null;
    entries: Entry[];
    log: StepProps["log"];
}

function LookForm({job, piece, entries, log}: LookProps): JSX.Element {
    const before = plan_of(job, piece);
    // What was said here lies over what the book says: a look of another device changes the rest, and nothing that was typed is lost.
    const [said, set_said, forget] = useDraft<Partial<Seen>>(`look ${job.id} ${piece ?? ""}`, {}), seen = {...seen_in(before), ...(before ? {} : {craft: craft_of(job)}), ...said};
    const [missing, set_missing] = useState(false);
    const doing = useDoing(), gate = useGate(seen);
    const set = (more: Partial<Seen>): void => set_said({...said, ...more});
    const damage = entries.filter(entry => entry.kind === "damage" && entry.piece === piece).pop(), measured = damage ? seen_in_damage(damage.document) : null;
    // Where a rating may have to be kept it is asked for at once: no quote can be accepted before.
    const fire_asked = gate.plan?.gate.says.some(one => one.id.startsWith("gate-fire")) ?? false;
    const fire = <Choice label={t.look.fire} value={seen.fire} set={answer => set({fire: answer})} from={(["none", "needed"] as const).map(value => ({value, word: t.look.fires[value]}))}/>;
    const stopped = gate.plan?.gate.answer === "stop";
    const send = (): void => {
        const whole = seen.airbag && seen.craft && seen.place && seen.material && seen.damage.length > 0;
        set_missing(!whole);
        if (whole) void doing.go(async () => {
            const plan = await ask_plan(seen, job.colours.length);
            const {airbag, craft, place, material, damage, area, line, spots, note, ...rest} = seen;
            await log({...plan, seen: rest}, {step: "look", piece, note: note.trim(), ...(before ? {replaces: before.id} : {first: true})});
            const named = job.pieces.find(one => one.id === piece), word = t.look.materials[material!]!;
            if (named && !named.materials.includes(word)) await run_once("job add", {JOB: job.id, "--piece": named.name, "--material": word});
            forget();
        });
    };
    return <Form send={send}>
        <Choice<Yes> label={t.look.airbag} hint={t.look.airbag_hint} value={seen.airbag} set={airbag => set({airbag})}
            from={(["no", "yes", "unknown"] as const).map(value => ({value, word: t.look.answers[value]}))}/>
        {seen.airbag && <><h2>{t.photos.title}</h2><p>{t.look.first}</p></>}
        {seen.airbag && <Photos step="look" entries={entries.filter(entry => entry.kind !== "damage" && (!piece || !entry.piece || entry.piece === piece))} log={log} piece={piece}/>}
        {seen.airbag && <>
            <Choice label={t.look.craft} value={seen.craft} set={craft => set({craft})} from={options_of(t.look.crafts)}/>
            <Choice label={t.look.place} value={seen.place} set={place => set({place})} from={parts_of(seen)}/>
        </>}
        <div role="status">{gate.plan && <Gate plan={gate.plan}/>}</div>
        <Problem text={gate.error}/>
        {fire_asked && fire}
        {seen.craft && seen.place && <>
            <Choice label={t.look.material} value={seen.material} set={material => set({material})} from={options_of(t.look.materials)}/>
            {is_plastic(seen) && <Field label={t.look.mark} hint={t.look.mark_hint} value={seen.mark} set={mark => set({mark})}/>}
            <Damage entries={entries} piece={piece} log={log}/>
            {measured && seen.line !== measured.line && <p><Button onClick={() => set({damage: [...new Set([...seen.damage, ...measured.damage])], line: measured.line})}>{t.damage.take}</Button></p>}
            <Many label={t.look.damage} hint={t.look.damage_hint} value={seen.damage} set={damage => set({damage})} from={options_of(t.look.damages)}/>
            <Field label={t.look.area} unit="m²" hint={t.look.area_hint} mode="decimal" value={seen.area} set={area => set({area})}/>
            {seen.damage.some(one => one === "crack" || one === "cut") && <Field label={t.look.line} unit="mm" mode="numeric" value={seen.line} set={line => set({line})}/>}
            {seen.damage.some(one => ["flap", "hole", "stain", "burn"].includes(one)) && <Field label={t.look.spots} mode="numeric" value={seen.spots} set={spots => set({spots})}/>}
            <Deeper word={t.look.special}>
                <Many<Special> label={t.look.special} value={seen.specials} set={specials => set({specials})} from={SPECIALS.map(value => ({value, word: t.look[value as "perforated"]}))}/>
                <Choice<Finish> label={t.look.finish} value={seen.finish} set={finish => set({finish})} from={(["plain", "metal", "pearl"] as const).map(value => ({value, word: t.look.finishes[value]}))}/>
                <Choice<Yes> label={t.look.recoloured} hint={t.look.recoloured_hint} value={seen.recoloured} set={recoloured => set({recoloured})}
                    from={(["no", "yes", "unknown"] as const).map(value => ({value, word: t.look.answers[value]}))}/>
                <Choice label={t.look.edge} value={seen.edge} set={edge => set({edge})} from={(["break", "fade"] as const).map(value => ({value, word: t.look.edges[value]}))}/>
                <Choice label={t.look.by} value={seen.by} set={by => set({by})} from={options_of(t.look.bys)}/>
                <Choice label={t.look.crosslinker} value={seen.crosslinker} set={crosslinker => set({crosslinker})} from={options_of(t.look.crosslinkers)}/>
                {!fire_asked && fire}
            </Deeper>
        </>}
        {seen.airbag && <Field label={t.look.note} lines={3} value={seen.note} set={note => set({note})}/>}
        <Problem text={missing ? t.look.missing : doing.error}/>
        <Button main submit disabled={!seen.airbag} busy={doing.busy}>{stopped ? t.look.stop_send : before ? t.look.again : t.look.send}</Button>
    </Form>;
}

function Look({job, entries, log}: StepProps): JSX.Element {
    const [piece, set_piece] = useState(job.pieces[0]?.id ?? null);
    const notes = entries.filter(entry => entry.kind === "note" && entry.words);
    // The piece that is shown is in the book, and another one is not: a price would forget it.
    const following = piece && plan_of(job, piece) ? job.pieces.find(one => !plan_of(job, one.id)) : undefined;
    return <>
        {job.pieces.length > 1 && <Choice label={t.look.which_piece} value={piece} set={set_piece}
            from={job.pieces.map(one => ({value: one.id, word: one.name, ...(plan_of(job, one.id) ? {about: t.kind("plan")} : {})}))}/>}
        {notes.map(entry => <Note key={entry.id}><p>{entry.words}</p></Note>)}
        <LookForm key={piece} job={job} piece={piece} entries={entries} log={log}/>
        {following && <p class="after"><Button main onClick={() => {
            set_piece(following.id);
            scrollTo(0, 0);
        }}>{t.look.now_piece(following.name)}</Button></p>}
    </>;
}

const outcome = (job: Job, _colour: Colour | null): string | null => {
    const plans = plans_of(job), pictures = job.entries.filter(entry => entry.step === "look").reduce((n, entry) => n + entry.photographs.length, 0);
    const stopped = plans.some(entry => entry.document["gate"]?.answer === "stop");
    return stopped ? t.look.stop : plans.length || pictures ? t.look.outcome(plans.length, pictures) : last_of(job, "look") ? t.step_state.done : null;
};

add_step({name: "look", of: "job", screen: Look, outcome});
