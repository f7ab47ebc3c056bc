// The step "sheen": matte and gloss clear for the sheen of the part, by the shop's ladder and a gloss meter, or by a strip of dabs.
import type {JSX} from "preact";
import type {Ran} from "../api/api";
import type {Asked} from "../api/operations";
import {run} from "../api/api";
import {useDraft} from "../colour/draft";
import {argument_of, number_of} from "../colour/numbers";
import {Notes} from "../colour/reading_view";
import type {Document} from "../job/job";
import {last_of} from "../job/job";
import {useAsked, useDoing} from "../shell/ask";
import {Button, Choice, Deeper, Field, Form, Note, Problem} from "../shell/ui";
import type {StepProps} from "../steps/steps";
import {add_step} from "../steps/steps";
import {t} from "../words/words";
import {ChooseFiles} from "../colour/choose_files";
import type {Row} from "./ladder";
import {Ladder} from "./ladder";
import "./sheen.css";

const PLACES = ["seat", "door", "dash", "wheel", "pedal", "furniture", "other"] as const;

interface Rung {
    matte: string;
    gu: string;
}

const RUNGS: Rung[] = ["0", "25", "50", "75", "100"].map(matte => ({matte, gu: ""}));

type Angle = "20" | "60" | "85";

const rows_of = (rungs: Rung[]): Row[] => rungs.flatMap(({matte, gu}) => {
    const m = number_of(matte), g = number_of(gu);
    return m === null || g === null ? [] : [{matte: m / 100, gu: g}];
});

/** As `sheen --ladder` reads it; gloss at the one angle that was measured. */
export const csv_of = (rows: Row[], angle: Angle): string =>
    [`matte_fraction,gu${angle}`, ...rows.map(row => `${Number(row.matte.toFixed(6))},${row.gu}`)].join("\n") + "\n";

/** The rungs of a ladder.csv at this angle. */
export function rungs_of_csv(text: string, angle: Angle): Rung[] {
    const [head, ...lines] = text.trim().split(/\r?\n/).map(line => line.split(/[,;\t]/).map(cell => cell.trim()));
    const m = head?.indexOf("matte_fraction") ?? -1, g = head?.indexOf(`gu${angle}`) ?? -1;
    return m < 0 || g < 0 ? [] : lines.map(cells => ({matte: String(100 * Number(cells[m])), gu: cells[g] ?? ""}));
}

/** The shop's ladder with what was read at this angle; what was read at the others stays where the matte part is the same. */
export function merged_csv(before: string, rows: Row[], angle: Angle): string {
    const angles = ["20", "60", "85"] as const, others = angles.filter(one => one !== angle && rungs_of_csv(before, one).some(rung => rung.gu));
    if (!others.length) return csv_of(rows, angle);
    const told = (one: Angle, matte: number): string => rungs_of_csv(before, one).find(rung => Math.abs(Number(rung.matte) / 100 - matte) < 1e-6)?.gu ?? "";
    const all = angles.filter(one => one === angle || others.includes(one)), mattes = new Set([...rows.map(row => row.matte), ...others.flatMap(one =>
        rungs_of_csv(before, one).map(rung => Number((Number(rung.matte) / 100).toFixed(6))))]);
    const lines = [...mattes].sort((a, b) => a - b).map(matte => [matte, ...all.map(one => one === angle ? rows.find(row => Math.abs(row.matte - matte) < 1e-6)?.gu ?? "" : told(one, matte))]);
    return [["matte_fraction", ...all.map(one => `gu${one}`)], ...lines.filter(line => line.slice(1).some(gu => gu !== ""))].map(line => line.join(",")).join("\n") + "\n";
}

interface Way {
    found(ran: Ran<Document>, more: Document): void;
}

function ByLadder({found, last, of}: Way & {last: Document | null; of: string}): JSX.Element {
    const [angle, set_angle] = useDraft<Angle>("sheen angle", "60"), [mine, set_rungs] = useDraft<Rung[] | null>(`ladder ${angle}`, null);
    const shop = useAsked(async () => (await run<{csv: string | null}>("shelf ladder")).reply.csv ?? "", "ladder"), kept = rungs_of_csv(shop.value ?? "", angle);
    const rungs = mine ?? (kept.length ? kept : RUNGS);
    const [target, set_target] = useDraft(`sheen target ${of}`, ""), [batch, set_batch] = useDraft("sheen batch", "100"), [patch, set_patch] = useDraft(`sheen patch ${of}`, "");
    const [place, set_place] = useDraft<typeof PLACES[number] | null>("sheen place", null), doing = useDoing();
    const rows = rows_of(rungs), change = (at: number, rung: Partial<Rung>): void => set_rungs(rungs.map((old, i) => i === at ? {...old, ...rung} : old));
    const send = (): Promise<boolean> => doing.go(async () => {
        const args: Asked["sheen"] = {"--ladder": "ladder.csv", "--target-gu": argument_of(target), "--angle": angle, "--batch-ml": argument_of(batch), "--place": place};
        const before = last?.["matte_fraction"] as number | undefined;
        if (number_of(patch) !== null && before !== undefined) args["--measured"] = `${before}=${number_of(patch)}`;
        const ran = await run<Document>("sheen", args, {"ladder.csv": {text: csv_of(rows, angle)}});
        const csv = merged_csv(shop.value ?? "", rows, angle);
        if (mine && csv !== shop.value) await run("shelf ladder", {FILE: "ladder.csv"}, {"ladder.csv": {text: csv}});
        set_rungs(null);
        await shop.again();
        set_patch("");
        found(ran, {ladder: rows});
    });
    return <Form send={() => void send()}>
        <Field label={t.sheen.target} unit="GU" mode="decimal" value={target} set={set_target} hint={t.sheen.target_hint}/>
        <Choice<Angle> label={t.sheen.angle} value={angle} set={set_angle} from={(["20", "60", "85"] as const).map(value => ({value, word: `${value}°`}))}/>
        <fieldset><legend>{t.sheen.ladder}</legend>
            <p class="hint">{t.sheen.ladder_hint}</p>
            <ol class="rungs">{rungs.map((rung, i) => <li key={i}>
                <Field label={t.sheen.matte} unit="%" mode="decimal" value={rung.matte} set={matte => change(i, {matte})}/>
                <Field label={t.sheen.gloss} unit="GU" mode="decimal" value={rung.gu} set={gu => change(i, {gu})}/>
            </li>)}</ol>
            <Button onClick={() => set_rungs([...rungs, {matte: "", gu: ""}])}>{t.sheen.one_more}</Button>
            <ChooseFiles label={t.sheen.ladder_file} accept=".csv" files={[]} set={files => void files[0]?.text().then(text => {
                const read = rungs_of_csv(text, angle);
                if (read.length) set_rungs(read);
            })}/>
        </fieldset>
        {last?.["matte_fraction"] !== undefined && last?.["ladder"] && <Field label={t.sheen.patch(Math.round(100 * (last["matte_fraction"] as number)))} unit="GU" mode="decimal"
            value={patch} set={set_patch} hint={t.sheen.patch_hint}/>}
        <Deeper word={t.sheen.more}>
            <Field label={t.sheen.batch} unit="ml" mode="decimal" value={batch} set={set_batch}/>
            <Choice<typeof PLACES[number]> label={t.sheen.place} value={place} set={set_place} from={PLACES.map(value => ({value, word: t.sheen.places[value]}))}/>
        </Deeper>
        <Problem text={doing.error}/>
        <Button submit main busy={doing.busy} disabled={(number_of(target) ?? -1) < 0 || rows.length < 2}>{t.sheen.reckon}</Button>
    </Form>;
}

interface StripDab {
    dab: number;
    matte_fraction: number;
    matte_ml: number;
    gloss_ml: number;
}

function ByStrip({found, last}: Way & {last: Document | null}): JSX.Element {
    const between = (last?.["next_between"] as [number, number] | undefined) ?? [0, 1];
    const [strip, set] = useDraft<{between: number[]; dabs: StripDab[]} | null>("sheen strip", null), [nearest, set_nearest] = useDraft<number[]>("sheen nearest", []);
    const doing = useDoing();
    const args = (ends: number[]): Asked["sheen"] => ({"--by-eye": true, "--between": ends.join(","), "--batch-ml": 100});
    const lay = (): Promise<boolean> => doing.go(async () =>
        set({between, dabs: (await run<Document>("sheen", args(between))).reply["strip"] as StripDab[]}));
    const answer = (): Promise<boolean> => doing.go(async () => {
        found(await run<Document>("sheen", {...args(strip!.between), "--nearest": [...nearest].sort((a, b) => a - b).join(",")}), {});
        set(null);
        set_nearest([]);
    });
    const press = (dab: number): void => set_nearest(nearest.includes(dab) ? nearest.filter(one => one !== dab) : [...nearest, dab].slice(-2));
    if (!strip) return <><p>{t.sheen.strip_does}</p><Problem text={doing.error}/>
        <Button main busy={doing.busy} onClick={() => void lay()}>{t.sheen.lay_strip}</Button></>;
    return <>
        <p>{t.sheen.strip_what}</p>
        <ol class="strip">{strip.dabs.map(dab => <li key={dab.dab}>
            <button type="button" aria-pressed={nearest.includes(dab.dab)} onClick={() => press(dab.dab)}>
                <b>{nearest.includes(dab.dab) ? "✓ " : ""}{dab.dab}</b><span>{t.sheen.dab(dab.matte_ml.toFixed(2), dab.gloss_ml.toFixed(2))}</span>
            </button>
        </li>)}</ol>
        <Problem text={doing.error}/>
        <Button main busy={doing.busy} disabled={nearest.length === 0} onClick={() => void answer()}>{t.sheen.this_one}</Button>
        <Button quiet onClick={() => set(null)}>{t.sheen.strip_drop}</Button>
    </>;
}

export const sheen_sentence = (reply: Document): string => {
    const matte = Math.round(100 * (reply["matte_fraction"] as number)), expected = reply["expected_gu"] as number | undefined;
    return expected === undefined ? t.sheen.sentence_eye(matte) : t.sheen.sentence(matte, expected.toFixed(0), (reply["interval_gu"] as number[]).map(gu => gu.toFixed(0)));
};

function Result({reply}: {reply: Document}): JSX.Element {
    const rows = reply["ladder"] as Row[] | undefined;
    return <>
        <p class="sentence" role="status">{sheen_sentence(reply)}</p>
        {rows && <Ladder rows={rows} target={reply["target_gu"] as number} matte={reply["matte_fraction"] as number} interval={reply["interval_gu"] as [number, number]}/>}
        <dl class="figures">
            <dt>{t.sheen.matte_clear}</dt><dd>{(reply["matte_ml"] as number).toFixed(1)} ml</dd>
            <dt>{t.sheen.gloss_clear}</dt><dd>{(reply["gloss_ml"] as number).toFixed(1)} ml</dd>
        </dl>
        <Notes of={reply}/>
    </>;
}

function SheenScreen(p: StepProps): JSX.Element {
    const logged = p.entries.filter(entry => entry.kind === "sheen").pop()?.document ?? null;
    const [fresh, set] = useDraft<{reply: Document; why: string} | null>(`sheen ${p.job.id} ${p.colour?.id ?? ""}`, null);
    const [way, set_way] = useDraft<"ladder" | "strip" | null>("sheen way", null), doing = useDoing();
    const found = (ran: Ran<Document>, more: Document): void => {
        set({reply: {...ran.reply, ...more}, why: ran.ok ? "" : ran.why});
        scrollTo(0, 0);
    };
    const keep = (): Promise<boolean> => doing.go(async () => {
        await p.log(fresh!.reply);
        set(null);
    });
    const shown = fresh?.reply ?? logged;
    const ways = <>
        <Choice<"ladder" | "strip"> label={t.sheen.how} value={way} set={set_way} from={(["ladder", "strip"] as const).map(value => ({value, ...t.sheen.ways[value]}))}/>
        {way === "ladder" && <ByLadder found={found} last={shown} of={`${p.job.id} ${p.colour?.id ?? ""}`}/>}
        {way === "strip" && <ByStrip found={found} last={shown}/>}
    </>;
    if (!shown || shown["matte_fraction"] === undefined) return <><p>{t.sheen.what}</p>
        {fresh && <Note><p>{fresh.why}</p></Note>}{ways}</>;
    return <>
        <Result reply={shown}/>
        {fresh?.why && <Note><p>{fresh.why}</p></Note>}
        <Problem text={doing.error}/>
        {fresh ? <><Button main busy={doing.busy} onClick={() => void keep()}>{t.sheen.keep}</Button><Button quiet onClick={() => set(null)}>{t.colour.drop}</Button></>
            : <Button main onClick={p.next}>{t.sheen.onward}</Button>}
        <Deeper word={t.sheen.again}>{ways}</Deeper>
    </>;
}

add_step({
    name: "sheen", of: "colour", screen: SheenScreen, leads_on: true,
    outcome: (job, colour) => {
        const entry = last_of(job, "sheen", "sheen", colour);
        return entry && entry.document["matte_fraction"] !== undefined ? t.sheen.outcome(Math.round(100 * (entry.document["matte_fraction"] as number))) : null;
    },
});
