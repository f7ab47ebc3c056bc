// The time zone in which the shop counts its days: promised days, quotes, guarantees.
import type {JSX} from "preact";
import {useState} from "preact/hooks";
import {run} from "../api/api";
import {useAsked, useDoing} from "../shell/ask";
import {Button, Field, Form, Note, Problem, Told} from "../shell/ui";
import {tell_by} from "../shell/time";
import {t} from "../words/words";
import {since, useSaid} from "./said";

interface Zone {
    zone: string;
    from: string;
    now_local: string;
    changed: string | null;
}

const MACHINE = "machine";
const said = (zone: Zone): string => zone.from === MACHINE ? MACHINE : zone.zone;
const of_this_device = (): string => Intl.DateTimeFormat().resolvedOptions().timeZone ?? "";

const all_zones = (): string[] => {
    const intl = Intl as unknown as {supportedValuesOf?(what: string): string[]};
    return intl.supportedValuesOf?.("timeZone") ?? [];
};

export function ShopZone(): JSX.Element {
    const asked = useAsked(async () => (await run<Zone>("shop zone")).reply, "zone"), zone = asked.value;
    const [typed, set_typed] = useState(""), doing = useDoing();
    const put = async (to: string): Promise<{was: string; changed: string | null}> => {
        const {reply} = await run<Zone>("shop zone", {ZONE: to, "--unchanged-since": since(zone!.changed)});
        tell_by(reply.zone);
        return {was: said(zone!), changed: reply.changed};
    };
    const undo = useSaid<string>("zone", () => zone?.changed, (_key, to) => put(to), asked.again);
    const set = (to: string): Promise<boolean> => doing.go(async () => {
        try {
            const {was, changed} = await put(to);
            undo.note("zone", t.kept_what(t.shop.parts.zone.title), was, changed);
            set_typed("");
        } finally {
            await asked.again();
        }
    });
    const here = of_this_device();
    return <Told asked={asked}>{zone && <>
        <p role="status"><strong>{zone.zone}</strong>: {zone.now_local.slice(11, 16)}. {zone.from === MACHINE ? t.shop.zone_of_machine : t.shop.zone_said}</p>
        <p>{t.shop.zone_how}</p>
        {zone.zone === "UTC" && zone.from === MACHINE && <Note><p>{t.shop.zone_utc}</p></Note>}
        {here && here !== zone.zone && <p><Button busy={doing.busy} onClick={() => void set(here)}>{t.shop.zone_here(here)}</Button></p>}
        <Form send={() => void (typed.trim() && set(typed.trim()))}>
            <Field label={t.shop.zone} hint={t.shop.zone_hint} value={typed} set={set_typed} list={all_zones()}/>
            <Problem text={doing.error}/>
            <Button submit busy={doing.busy} disabled={!typed.trim()}>{t.shelf.set}</Button>
        </Form>
        {zone.from !== MACHINE && <p><Button quiet busy={doing.busy} onClick={() => void set(MACHINE)}>{t.shop.zone_machine}</Button></p>}
    </>}</Told>;
}
