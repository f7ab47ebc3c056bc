// The jobs on the bench. Empty: what a first job is, and the walk through the demo.
import type {JSX} from "preact";
import {useState} from "preact/hooks";
import {run} from "../api/api";
import {useAsked} from "../shell/ask";
import {Button, Choice, day, Field, Link, Screen, Told} from "../shell/ui";
import {WalkOffer} from "../walk/walk";
import {t} from "../words/words";
import type {JobBrief} from "./job";

const PAGE = 40;
type Which = "bench" | "all";

const today = (): string => {
    const now = new Date();
    return `${now.getFullYear()}-${String(now.getMonth() + 1).padStart(2, "0")}-${String(now.getDate()).padStart(2, "0")}`;
};

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

export function JobList(): JSX.Element {
    const asked = useAsked(async () => (await run<{jobs: JobBrief[]}>("job list")).reply.jobs, "jobs");
    const [which, set_which] = useState<Which>("bench"), [words, set_words] = useState(""), [most, set_most] = useState(PAGE);
    const all = asked.value ?? [], wanted = words.trim().toLowerCase();
    const shown = all.filter(job => (which === "all" || on_bench(job))
        && (!wanted || `${job.number} ${job.title} ${job.customer ?? ""}`.toLowerCase().includes(wanted)));
    return <Screen title={t.places.jobs}>
        <Told asked={asked}>
            {all.length === 0 ? <div class="empty"><p>{t.jobs.none}</p></div> : <>
                <WalkOffer jobs={all}/>
                {all.some(job => !on_bench(job)) && <Choice<Which> label={t.jobs.which} value={which} set={set_which}
                    from={[{value: "bench", word: t.jobs.on_bench}, {value: "all", word: t.jobs.all}]}/>}
                {all.length > 6 && <Field label={t.jobs.find} type="search" value={words} set={set_words}/>}
                {shown.length === 0 && <p class="empty">{t.jobs.none_such}</p>}
                <ul class="cards">{shown.slice(0, most).map(job => <JobCard key={job.id} job={job}/>)}</ul>
                {shown.length > most && <Button onClick={() => set_most(most + PAGE)}>{t.more}</Button>}
            </>}
            <Link class="button main" to="/new">{t.jobs.new_one}</Link>
        </Told>
    </Screen>;
}
