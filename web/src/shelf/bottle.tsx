// One toner: its bottles, what came in, what the scale says is left, its safety data sheet.
import type {JSX} from "preact";
import {file_of, run_once} from "../api/api";
import {useDraft} from "../job/draft";
import {useDoing} from "../shell/ask";
import {day} from "../shell/time";
import {Button, Choice, Deeper, Field, FileButton, Form, Link, Problem, Screen, Told} from "../shell/ui";
import {t} from "../words/words";
import type {Lot, Toner} from "./shelf";
import {grams, number_of, past, state_of, useShelf} from "./shelf";

const FROSTS = ["no", "yes", "unknown"] as const;
const REASONS = ["counted", "spilt", "thrown", "other"] as const;
const EMPTY = {toner: "", lot: "", g: "", expires: "", frost: "unknown" as Lot["frost"], warn: ""};

export function Receive({toners, toner, done}: {toners: Toner[]; toner?: Toner; done(): Promise<void>}): JSX.Element {
    const [draft, set, forget] = useDraft(`bottle ${toner?.id ?? ""}`, EMPTY);
    const doing = useDoing(), which = toner?.id ?? draft.toner;
    const send = (): void => void doing.go(async () => {
        await run_once("shelf receive", {TONER: which, "--lot": draft.lot.trim(), "--g": number_of(draft.g), "--expires": draft.expires,
            "--frost": draft.frost, "--warn-g": number_of(draft.warn)});
        forget();
        await done();
    });
    return <Form send={send}>
        {!toner && <Choice label={t.shelf.which} value={draft.toner || null} set={id => set({...draft, toner: id})} from={toners.map(one => ({value: one.id, word: one.name}))}/>}
        <Field label={t.shelf.lot_name} value={draft.lot} set={lot => set({...draft, lot})} needed/>
        <Field label={t.shelf.lot_g} unit="g" mode="decimal" value={draft.g} set={g => set({...draft, g})} needed/>
        <Field label={t.shelf.lot_day} type="date" value={draft.expires} set={expires => set({...draft, expires})}/>
        <Choice<Lot["frost"]> label={t.shelf.frost} value={draft.frost} set={frost => set({...draft, frost})} from={FROSTS.map(value => ({value, word: t.shelf.frosts[value]}))}/>
        <Field label={t.shelf.warn} unit="g" mode="decimal" value={draft.warn} set={warn => set({...draft, warn})}/>
        <Problem text={doing.error}/>
        <Button main submit busy={doing.busy} disabled={!which || !draft.lot.trim() || !draft.g.trim()}>{t.shelf.put}</Button>
    </Form>;
}

function Count({lot, done}: {lot: Lot; done(): Promise<void>}): JSX.Element {
    const [{g, reason}, set, forget] = useDraft(`count ${lot.id}`, {g: "", reason: "counted" as typeof REASONS[number]});
    const doing = useDoing();
    const send = (): void => void doing.go(async () => {
        await run_once("shelf count", {LOT: lot.id, "--g": number_of(g), "--reason": reason});
        forget();
        await done();
    });
    return <Form send={send}>
        <Field label={t.shelf.count} unit="g" mode="decimal" value={g} set={g => set({g, reason})}/>
        <Choice<typeof REASONS[number]> label={t.shelf.reason} value={reason} set={reason => set({g, reason})} from={REASONS.map(value => ({value, word: t.shelf.reasons[value]}))}/>
        <Problem text={doing.error}/>
        <Button submit busy={doing.busy} disabled={!g.trim()}>{t.shelf.set}</Button>
    </Form>;
}

function LotCard({lot, done}: {lot: Lot; done(): Promise<void>}): JSX.Element {
    return <li class="card">
        <strong>{t.shelf.lot} {lot.name}</strong>
        <span class="of">{lot.used_up || lot.left_g <= 0 ? t.shelf.out : t.shelf.left(grams(lot.left_g))}
            {lot.expires && ` · ${past(lot.expires) ? t.shelf.expired(day(lot.expires)) : t.shelf.expires(day(lot.expires))}`}</span>
        {lot.frost !== "no" && <span class="flag">{lot.frost === "yes" ? t.shelf.frozen : t.shelf.frost_unknown}</span>}
        <Deeper word={t.shelf.count}><Count lot={lot} done={done}/></Deeper>
    </li>;
}

function Sheet({toner, done}: {toner: Toner; done(): Promise<void>}): JSX.Element {
    const [{issued}, set, forget] = useDraft(`sheet ${toner.id}`, {issued: ""});
    const doing = useDoing();
    const keep = (file: File): void => void doing.go(async () => {
        await run_once("shelf sheet", {TONER: toner.id, FILE: "sheet", "--issued": issued}, {sheet: await file_of(file)});
        forget();
        await done();
    });
    return <>
        <p>{toner.safety_sheet ? t.shelf.sheet_have : t.shelf.sheet_none}</p>
        <Field label={t.shelf.sheet_day} type="date" value={issued} set={issued => set({issued})}/>
        <FileButton word={t.shelf.sheet_add} accept="application/pdf,image/*" busy={doing.busy} chosen={([file]) => file && keep(file)}/>
        <Problem text={doing.error}/>
    </>;
}

export function TonerPlace({id}: {id: string}): JSX.Element {
    const asked = useShelf(), toner = asked.value?.toners.find(one => one.id === id);
    const above = <p class="above"><Link class="back" to="/shelf">{t.places.shelf}</Link></p>;
    if (!toner) return <Screen title={asked.value ? t.no_such_place : t.places.shelf} above={above}><Told asked={asked}/></Screen>;
    const state = state_of(toner);
    return <Screen title={toner.name} above={above}>
        <p>{t.shelf.roles[toner.role] ?? toner.role} · {toner.left_g > 0 ? t.shelf.left(grams(toner.left_g)) : toner.lots.length ? t.shelf.out : t.shelf.no_bottle}{toner.left_g > 0 && state && ` · ${state}`}</p>
        <h2>{t.shelf.lots}</h2>
        {toner.lots.length === 0 ? <p>{t.shelf.no_lots}</p> : <ul class="cards">{toner.lots.map(lot => <LotCard key={lot.id} lot={lot} done={asked.again}/>)}</ul>}
        <Deeper word={t.shelf.receive} open={toner.lots.length === 0}><Receive toners={[toner]} toner={toner} done={asked.again}/></Deeper>
        <Deeper word={t.shelf.sheet}><Sheet toner={toner} done={asked.again}/></Deeper>
    </Screen>;
}
