import type {JSX} from "preact";
import {Link, Screen} from "../shell/ui";
import {steps} from "../steps/steps";
import {t} from "../words/words";
import type {Colour, Job} from "./job";
import {entries_of} from "./job";
import {path_to} from "./place";

export function JobPath({job, colour}: {job: Job; colour: Colour | null; reload(): Promise<void>}): JSX.Element {
    const all = steps();
    return <Screen title={job.title}>
        <ol class="path" aria-label={t.the_path}>
            {all.map(step => {
                const done = entries_of(job, step.name, step.of === "colour" ? colour : null).length > 0;
                return <li key={step.name} class={done ? "done" : "open"}>
                    <Link to={path_to(job, step, colour)}>{t.step[step.name]}</Link>
                </li>;
            })}
        </ol>
    </Screen>;
}
