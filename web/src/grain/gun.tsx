// The gun: each test shot is a setting and the grain that it gave; what to try next comes from all of them.
import type {JSX} from "preact";
import {useState} from "preact/hooks";
import {run} from "../api/api";
import {useDraft} from "../colour/draft";
import {number_of} from "../colour/numbers";
import {Notes} from "../colour/reading_view";
import type {Document, Entry} from "../job/job";
import {entry_file} from "../job/job";
import {useDoing} from "../shell/ask";
import {Button, Field, Form, Problem} from "../shell/ui";
import type {StepProps} from "../steps/steps";
import {t} from "../words/words";

const KNOBS = ["pressure_bar", "fluid_turns", "distance_mm", "viscosity_s"] as const;
type Knob = typeof KNOBS[number];
const UNITS: Record<Knob, string> = {pressure_bar: "bar", fluid_turns: "", distance_mm: "mm", viscosity_s: "s"};
const DIGITS: Record<Knob, number> = {pressure_bar: 1, fluid_turns: 2, distance_mm: 0, viscosity_s: 0};

/** As `grain gun --log` reads it. */
export const shots_csv = (shots: readonly Document[]): string =>
    [[...KNOBS, "Sal_mm", "Sa_um"], ...shots.map(shot => [...KNOBS, "Sal_mm", "Sa_um"].map(key => shot[key]))].map(row => row.join(",")).join("\n") + "\n";

function Setting({next, expected}: {next: Record<Knob, number>; expected: Document}): JSX.Element {
    return <section aria-label={t.grain.try}>
        <h3>{t.grain.try}</h3>
        <dl class="setting">{KNOBS.map(knob => <div key={knob}><dt>{t.grain.knobs[knob]}</dt><dd><b>{next[knob].toFixed(DIGITS[knob])}</b> {UNITS[knob]}</dd></div>)}</dl>
        <p>{t.grain.expected((expected["Sal_mm"] as number).toFixed(2), (expected["Sa_um"] as number).toFixed(0))}</p>
    </section>;
}

interface Props {
    entries: Entry[];
    sound: Entry;
    repair: Entry | null;
    log: StepProps["log"];
}

export function Gun({entries, sound, repair, log}: Props): JSX.Element {
    const [knobs, set] = useDraft<Record<Knob, string>>("gun", {pressure_bar: "", fluid_turns: "", distance_mm: "", viscosity_s: ""});
    const [answer, set_answer] = useState<Document | null>(null), doing = useDoing();
    const shots = entries.filter(entry => entry.kind === "gun-shot").map(entry => entry.document);
    const of_repair = repair && shots.some(shot => shot["grain"] === repair.id), whole = KNOBS.every(knob => (number_of(knobs[knob]) ?? 0) > 0);
    const keep = (): void => void doing.go(async () => {
        const {Sal_mm, Sa_um} = repair!.document;
        await log({kind: "gun-shot", format: 1, ...Object.fromEntries(KNOBS.map(knob => [knob, number_of(knobs[knob])])), Sal_mm, Sa_um, grain: repair!.id});
        set_answer(null);
    });
    const next = (): void => void doing.go(async () =>
        set_answer((await run<Document>("grain gun", {"--log": "shots.csv", "--want": "want"}, {"shots.csv": {text: shots_csv(shots)}, want: entry_file(sound)})).reply));
    return <>
        <h2>{t.grain.gun}</h2>
        <p>{t.grain.shots(shots.length)}</p>
        {answer && <><Setting next={answer["next"] as Record<Knob, number>} expected={answer["expected"] as Document}/><Notes of={answer}/></>}
        <Problem text={doing.error}/>
        <Button busy={doing.busy} onClick={next}>{shots.length ? t.grain.next_shot : t.grain.first_shot}</Button>
        {repair && !of_repair && <Form send={keep}>
            <h3>{t.grain.shot}</h3>
            <p>{t.grain.shot_how}</p>
            {KNOBS.map(knob => <Field key={knob} label={t.grain.knobs[knob]} unit={UNITS[knob] || t.grain.turns_unit} mode="decimal" value={knobs[knob]} set={value => set({...knobs, [knob]: value})}/>)}
            <Button submit busy={doing.busy} disabled={!whole}>{t.grain.keep_shot}</Button>
        </Form>}
    </>;
}
