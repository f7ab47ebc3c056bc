import type {JSX} from "preact";
import {run} from "../api/api";
import {useAsked} from "../shell/ask";
import {Link, Screen, Told} from "../shell/ui";
import {t} from "../words/words";
import type {JobBrief} from "./job";

export function JobList(): JSX.Element {
    const asked = useAsked(async () => (await run<{jobs: JobBrief[]}>("job list")).reply.jobs, "jobs");
    return <Screen title={t.places.jobs}>
        <Told asked={asked}>
            <ul class="cards">{asked.value?.map(job => <li key={job.id}><Link to={`/job/${job.number}`}>{job.title}</Link></li>)}</ul>
        </Told>
    </Screen>;
}
