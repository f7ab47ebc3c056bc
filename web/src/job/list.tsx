// The jobs on the bench, a page of them at a time: the bench looks through the others. Empty: what a first job is, and the demo.
import type {JSX} from "preact";
import {useEffect, useState} from "preact/hooks";
import {run} from "../api/api";
import {useAsked} from "../shell/ask";
import {day, today} from "../shell/time";
import {Button, Choice, Field, Link, Screen, Told} from "../shell/ui";
import {DemoOffer, WalkOffer} from "../walk/walk";
import {t} from "../words/words";
import type {JobBrief} from "./job";

const PAGE = 40, TYPING_MS = 250;
type Which = "bench" | "all";

export interface Jobs {
    jobs: JobBrief[];
    more: boolean;
}

/** The words when the typing has paused. */
export function usePaused(words: string): string {
    const [paused, set] = useState(words);
    useEffect(() => {
        const clock = setTimeout(() => set(words), TYPING_MS);
        return () => clearTimeout(clock);
    }, [words]);
    return paused;
}

const on_bench = (job: JobBrief): boolean => job.state === "open" || job.state === "waiting";

function JobCard({job}: {job: JobBrief}): JSX.Element {
    const late = job.due !== null && on_bench(job) && job.due.slice(0, 10) < today();
    return <li><Link to={`/job/${job.number}`} class="card">
        <strong>{job.title}</strong>
        <span class="of">{t.jobs.number(job.number)}{job.customer ? ` · ${job.customer}` : ""}</span>
        <span class="where">
            {on_bench(job) && job.next ? t.jobs.next(t.step[job.next]) : t.job_state[job.state]}
            {job.state === "waiting" && ` · ${t.job_state.waiting}`}
            {job.due && ` · ${late ? t.jobs.late(day(job.due)) : t.jobs.due(day(job.due))}`}
        </span>
    </Link></li>;
}

interface Found extends Jobs {
    /** There is no job at all. */
    none: boolean;
}

async function find(which: Which, words: string, top: number): Promise<Found> {
    const {reply} = await run<Jobs>("job list", {"--top": top, "--state": which === "bench" ? "bench" : undefined, "--words": words});
    const none = reply.jobs.length === 0 && (await run<Jobs>("job list", {"--top": 1})).reply.jobs.length === 0;
    return {...reply, none};
}

export function JobList({in_demo}: {in_demo: boolean}): JSX.Element {
    const [which, set_which] = useState<Which>("bench"), [words, set_words] = useState(""), [top, set_top] = useState(PAGE);
    const wanted = usePaused(words.trim()), asked = useAsked(() => find(which, wanted, top), `${which} ${wanted} ${top}`, true);
    const found = asked.value, jobs = found?.jobs ?? [];
    return <Screen title={t.places.jobs}>
        <Told asked={asked}>
            {found?.none ? <><div class="empty"><p>{t.jobs.none}</p></div>{!in_demo && <DemoOffer/>}</> : <>
                <WalkOffer jobs={jobs}/>
                <Choice<Which> label={t.jobs.which} value={which} set={value => {
                    set_which(value);
                    set_top(PAGE);
                }} from={[{value: "bench", word: t.jobs.on_bench}, {value: "all", word: t.jobs.all}]}/>
                <Field label={t.jobs.find} type="search" value={words} set={set_words}/>
                {jobs.length === 0 && <p class="empty" role="status">{wanted ? t.jobs.none_such : t.jobs.bench_empty}</p>}
                <ul class="cards">{jobs.map(job => <JobCard key={job.id} job={job}/>)}</ul>
                {found?.more && <Button busy={asked.waiting} onClick={() => set_top(top + PAGE)}>{t.more}</Button>}
            </>}
        </Told>
        <Link class="button main" to="/new">{t.jobs.new_one}</Link>
    </Screen>;
}
