// The time zone in which the shop counts its days: promised days, quotes, guarantees.
import type {JSX} from "preact";
import {useState} from "preact/hooks";
import {run} from "../api/api";
import {useAsked, useDoing} from "../shell/ask";
import {Button, Field, Form, Note, Problem, Told, Undo} from "../shell/ui";
import {t} from "../words/words";

interface Zone {
    zone: string;
    from: string;
    now_local: string;
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
    const [typed, set_typed] = useState(""), [was, set_was] = useState<string | null>(null), doing = useDoing();
    const set = (to: string): Promise<boolean> => doing.go(async () => {
        const before = said(zone!);
        await run("shop zone", {ZONE: to});
        set_typed("");
        await asked.again();
        set_was(before);
    });
    const here = of_this_device();
    return <Told asked={asked}>{zone && <>
        <p role="status"><strong>{zone.zone}</strong>: {zone.now_local.slice(11, 16)}. {zone.from === MACHINE ? t.shop.zone_of_machine : t.shop.zone_said}</p>
        <p>{t.shop.zone_how}</p>
        {zone.zone === "UTC" && zone.from === MACHINE && <Note><p>{t.shop.zone_utc}</p></Note>}
        {was !== null && <Undo word={t.kept} undo={() => set(was).then(() => set_was(null))}/>}
        {here && here !== zone.zone && <p><Button busy={doing.busy} onClick={() => void set(here)}>{t.shop.zone_here(here)}</Button></p>}
        <Form send={() => void (typed.trim() && set(typed.trim()))}>
            <Field label={t.shop.zone} hint={t.shop.zone_hint} value={typed} set={set_typed} list={all_zones()}/>
            <Problem text={doing.error}/>
            <Button submit busy={doing.busy} disabled={!typed.trim()}>{t.shelf.set}</Button>
        </Form>
        {zone.from !== MACHINE && <p><Button quiet busy={doing.busy} onClick={() => void set(MACHINE)}>{t.shop.zone_machine}</Button></p>}
    </>}</Told>;
}
