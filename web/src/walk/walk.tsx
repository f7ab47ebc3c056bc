// The walk: five minutes through a job that is half done. It only goes to places and says what they are for; nothing is
// written by it. Where it stands is kept in the tab.
import type {JSX} from "preact";
import {useEffect, useState} from "preact/hooks";
import {demo, run} from "../api/api";
import type {JobBrief} from "../job/job";
import {go} from "../shell/place";
import {useDoing} from "../shell/ask";
import {Button, Problem} from "../shell/ui";
import {steps} from "../steps/steps";
import {t} from "../words/words";

interface Stand {
    at: number;
    job: number;
}

const BEGIN = "walk-begin", KEY = "walk", OFFERED = "walk-offered", MOVED = "russet-walk";
const DEMO = "demo customer"; // of the demo shop that russet shop init --demo makes

function stops(job: number): {name: string; path: string}[] {
    const shown = new Set<string>(steps().map(step => step.name));
    return Object.keys(t.walk.stops).flatMap(name => {
        if (name === "job") return [{name, path: `/job/${job}`}];
        if (name === "shelf" || name === "book") return [{name, path: `/${name}`}];
        return shown.has(name) ? [{name, path: `/job/${job}/${name}`}] : [];
    });
}

function stand(): Stand | null {
    try {
        return JSON.parse(sessionStorage.getItem(KEY) ?? "null") as Stand | null;
    } catch {
        return null;
    }
}

function move(to: Stand | null): void {
    if (to) sessionStorage.setItem(KEY, JSON.stringify(to));
    else sessionStorage.removeItem(KEY);
    dispatchEvent(new Event(MOVED));
    const stop = to && stops(to.job)[to.at];
    if (stop) go(stop.path);
}

/** To the demo's shop and straight into the walk, or back: the page begins anew, because everything on it is of the other shop. */
async function change_shop(on: boolean): Promise<void> {
    await demo(on);
    move(null);
    if (on) sessionStorage.setItem(BEGIN, "1");
    location.assign("/");
}

function ChangeShop({on, word}: {on: boolean; word: string}): JSX.Element {
    const doing = useDoing();
    return <>
        <Problem text={doing.error}/>
        <Button busy={doing.busy} onClick={() => void doing.go(() => change_shop(on))}>{word}</Button>
        <p role="status" class="waiting">{doing.busy && on && t.walk.making}</p>
    </>;
}

/** An empty bench offers the demo's shop; it lies beside this one and touches nothing of it. */
export const DemoOffer = (): JSX.Element => <section class="note offer" aria-label={t.walk.demo}>
    <p>{t.walk.demo_offer}</p>
    <ChangeShop on word={t.walk.demo_open}/>
</section>;

export const LeaveDemo = (): JSX.Element => <ChangeShop on={false} word={t.walk.demo_leave}/>;

/** Stands above everything as long as this device works in the demo's shop. */
export const DemoBar = (): JSX.Element => <aside class="kept demo" aria-label={t.walk.demo}>
    <span>{t.walk.demo_is}</span><LeaveDemo/>
</aside>;

export async function start_walk(): Promise<void> {
    const open = (await run<{jobs: JobBrief[]}>("job list", {"--state": "open", "--top": 100})).reply.jobs;
    const job = open.find(one => one.customer === DEMO) ?? open[0];
    if (job) move({at: 0, job: job.number});
    else go("/");
}

/** Offered once, on a bench that has the demo on it. */
export function WalkOffer({jobs}: {jobs: JobBrief[]}): JSX.Element | null {
    const [hidden, hide] = useState(() => localStorage.getItem(OFFERED) !== null);
    const job = jobs.find(one => one.state === "open" && one.customer === DEMO);
    useEffect(() => {
        if (!job || !sessionStorage.getItem(BEGIN)) return;
        sessionStorage.removeItem(BEGIN);
        move({at: 0, job: job.number});
    }, [job?.id]);
    if (hidden || !job) return null;
    const end = (): void => {
        localStorage.setItem(OFFERED, "1");
        hide(true);
    };
    return <section class="note offer" aria-label={t.walk.label}>
        <p>{t.walk.offer}</p>
        <div class="row"><Button onClick={() => {
            end();
            move({at: 0, job: job.number});
        }}>{t.walk.start}</Button><Button quiet onClick={end}>{t.walk.not_now}</Button></div>
    </section>;
}

export function WalkBar(): JSX.Element | null {
    const [at, set] = useState(stand);
    useEffect(() => {
        const moved = (): void => set(stand());
        addEventListener(MOVED, moved);
        return () => removeEventListener(MOVED, moved);
    }, []);
    const all = at ? stops(at.job) : [], stop = at && all[at.at];
    if (!at || !stop) return null;
    const last = at.at === all.length - 1;
    return <aside class="walk" aria-label={t.walk.label}>
        <p role="status"><strong>{t.walk.at(at.at + 1, all.length)}</strong> {t.walk.stops[stop.name]}</p>
        <div class="row">
            {!last && <Button onClick={() => move({...at, at: at.at + 1})}>{t.walk.next}</Button>}
            <Button quiet onClick={() => move(null)}>{last ? t.walk.last : t.walk.end}</Button>
        </div>
    </aside>;
}
