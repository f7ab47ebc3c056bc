// The shop's settings: who is let in, the backup, the prices, and what is to be forgotten.
import type {JSX} from "preact";
import {useState} from "preact/hooks";
import type {Device, Me, Pairing} from "../api/api";
import {backup, devices, pairing, revoke, run} from "../api/api";
import type {Customer} from "../job/job";
import {usePaused} from "../job/list";
import {Prices, usePricesSaid, usePricing} from "../quote/prices";
import {useAsked, useDoing} from "../shell/ask";
import {save_as} from "../shell/money";
import {moment, today} from "../shell/time";
import {Button, Caution, Choice, Deeper, Field, Link, Problem, Screen, Told} from "../shell/ui";
import {t} from "../words/words";
import {DemoOffer, LeaveDemo, start_walk} from "../walk/walk";
import {ShopCustomers} from "./customers";
import {ShopLists} from "./lists";
import {ShopTasks} from "./tasks";
import {ShopZone} from "./zone";

function DeviceRow({device, gone}: {device: Device; gone(left: Device[]): void}): JSX.Element {
    const doing = useDoing();
    return <li class="device">
        <span><strong>{device.name}</strong>{device.own && ` (${t.settings.this_one})`}<br/><span class="hint">{t.settings.since(moment(device.paired))}{device.seen && ` · ${t.settings.seen(moment(device.seen))}`}</span></span>
        {!device.own && <Button busy={doing.busy} label={`${t.settings.send_away}: ${device.name}`}
            onClick={() => void doing.go(async () => gone((await revoke(device.id)).devices))}>{t.settings.send_away}</Button>}
        <Problem text={doing.error}/>
    </li>;
}

function Devices(): JSX.Element {
    const asked = useAsked(devices, "devices"), [left, set_left] = useState<Device[] | null>(null), [gone, set_gone] = useState<string | null>(null);
    return <Told asked={asked}>
        <ul class="devices">{(left ?? asked.value?.devices ?? []).map(device => <DeviceRow key={device.id} device={device} gone={rest => {
            set_left(rest);
            set_gone(device.name);
        }}/>)}</ul>
        <p role="status">{gone && t.settings.gone(gone)}</p>
        {asked.value?.refused.last && <p class="hint">{t.settings.refused(asked.value.refused.count, moment(asked.value.refused.last))}</p>}
    </Told>;
}

function AddDevice({me}: {me: Me}): JSX.Element {
    const [shown, set] = useState<Pairing | null>(null);
    const doing = useDoing();
    if (!me.tls) return <p>{t.settings.only_here} <code>{t.settings.only_here_how}</code></p>;
    if (!shown) return <>
        <Problem text={doing.error}/>
        <Button busy={doing.busy} onClick={() => void doing.go(async () => set(await pairing()))}>{t.settings.add}</Button>
    </>;
    return <section aria-label={t.settings.add}>
        <p>{t.settings.add_how}</p>
        <p class="address">{shown.address}</p>
        <img class="qr" src={`data:image/svg+xml;charset=utf-8,${encodeURIComponent(shown.qr)}`} alt={t.settings.qr} width="240" height="240"/>
        <p class="figure" role="status">{shown.code.slice(0, 3)} {shown.code.slice(3)}</p>
        <p>{t.settings.minutes(shown.minutes)}</p>
        {shown.fingerprint && <Deeper word={t.settings.fingerprint} open><p>{t.settings.fingerprint_how}</p><p class="address">{shown.fingerprint}</p></Deeper>}
    </section>;
}

function Backup(): JSX.Element {
    const doing = useDoing(), [said, set_said] = useState<string | null>(null);
    const work = (what: () => Promise<string>) => () => void doing.go(async () => {
        set_said(null);
        set_said(await what());
    });
    const save = async (): Promise<string> => {
        save_as(await backup(), `shop-${today()}.backup`);
        return t.settings.backup_made;
    };
    const check = async (): Promise<string> => {
        const {ok, why} = await run("shop check");
        return ok ? t.settings.checked : why;
    };
    return <>
        <p>{t.settings.backup_how}</p>
        <div class="row"><Button busy={doing.busy} onClick={work(save)}>{t.settings.backup_make}</Button><Button busy={doing.busy} onClick={work(check)}>{t.settings.check}</Button></div>
        <p role="status">{said}</p>
        <Problem text={doing.error}/>
    </>;
}

function Forget(): JSX.Element {
    const [words, set_words] = useState(""), wanted = usePaused(words.trim());
    const asked = useAsked(async () => (await run<{customers: Customer[]}>("customer list", {"--words": wanted, "--top": 12})).reply.customers.filter(one => !one.erased), wanted, true);
    const [id, set_id] = useState<string | null>(null), [sure, set_sure] = useState(false), [done, set_done] = useState(false);
    const doing = useDoing(), chosen = asked.value?.find(one => one.id === id);
    const choose = (value: string | null): void => {
        set_id(value);
        set_sure(false);
        set_done(false);
    };
    const forget = (): void => void doing.go(async () => {
        await run("shop erase-customer", {ID: id});
        choose(null);
        set_done(true);
        await asked.again();
    });
    return <Told asked={asked}>
        <p>{t.settings.forget_how}</p>
        <Field label={t.settings.forget_find} type="search" value={words} set={set_words}/>
        {asked.value?.length === 0 ? <p>{t.settings.customers_none}</p>
            : <Choice label={t.settings.forget_which} value={id} set={choose} from={(asked.value ?? []).map(one => ({value: one.id, word: one.name}))}/>}
        {chosen && (sure ? <Caution><p>{t.settings.forget_how}</p><Button busy={doing.busy} onClick={forget}>{t.settings.forget_sure}</Button></Caution>
            : <Button onClick={() => set_sure(true)}>{t.settings.forget_send(chosen.name)}</Button>)}
        <p role="status">{done && t.settings.forgotten}</p>
        <Problem text={doing.error}/>
    </Told>;
}

function ShopPrices(): JSX.Element {
    const pricing = usePricing();
    const said = usePricesSaid(pricing);
    return <Told asked={pricing}>{pricing.value && <Prices pricing={pricing.value.pricing} said={said} kept={pricing.again} again={pricing.again}/>}</Told>;
}

const PARTS = {prices: ShopPrices, lists: ShopLists, tasks: ShopTasks, customers: ShopCustomers, zone: ShopZone};
type PartName = keyof typeof PARTS;

/** One part of what the shop has said of itself, on a screen of its own. */
export function SettingsPart({name}: {name: string}): JSX.Element {
    const Part = (PARTS as Record<string, (() => JSX.Element) | undefined>)[name], above = <p class="above"><Link class="back" to="/settings">{t.places.settings}</Link></p>;
    return <Screen title={Part ? t.shop.parts[name as PartName].title : t.no_such_place} above={above}>{Part && <Part/>}</Screen>;
}

export function SettingsPlace({me}: {me: Me}): JSX.Element {
    return <Screen title={t.places.settings}>
        <h2>{t.shop.title}</h2>
        <ul class="cards two">{(Object.keys(PARTS) as PartName[]).map(name => <li key={name}><Link class="card" to={`/settings/${name}`}>
            <strong>{t.shop.parts[name].title}</strong><span class="of">{t.shop.parts[name].about}</span></Link></li>)}</ul>
        <h2>{t.settings.devices}</h2>
        <Devices/>
        <h2>{t.settings.add}</h2>
        <AddDevice me={me}/>
        <h2>{t.settings.backup}</h2>
        <Backup/>
        <Deeper word={t.settings.forget}><Forget/></Deeper>
        <h2>{t.settings.about}</h2>
        <p>{t.settings.version(me.version ?? "")}. {t.settings.offline}</p>
        {me.demo ? <LeaveDemo/> : <DemoOffer/>}
        <div class="gap"/>
        <Button onClick={() => void start_walk()}>{t.settings.walk}</Button>
    </Screen>;
}
