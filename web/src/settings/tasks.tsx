// The shop's own minutes of each task, its guarantee, and what that leaves out: quotes and records are made of them.
import type {JSX} from "preact";
import type {Arguments} from "../api/api";
import {run, run_once} from "../api/api";
import {useDraft} from "../job/draft";
import type {Asked} from "../shell/ask";
import {useAsked, useDoing} from "../shell/ask";
import {Button, Deeper, Field, Form, Problem, Told} from "../shell/ui";
import {t} from "../words/words";
import type {Said} from "./said";
import {since, useSaid} from "./said";

export interface Task {
    task: string;
    name: string;
    goes_by: string;
    fixed_min: number[];
    each_min: number[];
    months: number;
    excluded: string;
    own: boolean;
    changed: string | null;
}

export const useTasks = (): Asked<Task[]> => useAsked(async () => (await run<{tasks: Task[]}>("task list")).reply.tasks, "tasks");

interface TaskForm {
    fixed: string;
    each: string;
    months: string;
    excluded: string;
}

const written = (minutes: readonly number[]): string => minutes.join("; ");
const form_of = (task: Task): TaskForm => ({fixed: written(task.fixed_min), each: written(task.each_min), months: String(task.months), excluded: task.excluded});

/** "10; 15; 25", "10 15 25" or "10,5; 15; 25": low, likely, high. */
const three = (text: string): string => {
    const parts = text.trim().split(/\s*;\s*|\s+/).filter(Boolean);
    return (parts.length > 1 ? parts.map(part => part.replace(/,$/, "").replace(",", ".")) : text.trim().split(",")).join(",");
};

const USUAL: Arguments = {"--usual": true};
const arguments_of = (task: Task, form: TaskForm): Arguments =>
    ({"--fixed": three(form.fixed), "--each": task.goes_by === "once" ? undefined : three(form.each), "--months": form.months.trim(), "--excluded": form.excluded.trim()});

const set_task = async (seen: Task, args: Arguments): Promise<Task> =>
    (await run_once<{tasks: Task[]}>("task set", {TASK: seen.task, ...args, "--unchanged-since": since(seen.changed)})).reply.tasks[0]!;

interface OneProps {
    task: Task;
    said: Said<Task>;
    again(): Promise<void>;
}

function OneTask({task, said, again}: OneProps): JSX.Element {
    const before = form_of(task), [typed, set_typed, forget] = useDraft<Partial<TaskForm>>(`task ${task.task}`, {}), form = {...before, ...typed}, doing = useDoing();
    const field = (name: keyof TaskForm) => ({value: form[name], set: (text: string) => set_typed({...typed, [name]: text}), in_book: doing.error && name in typed ? before[name] : undefined});
    const keep = (args: Arguments): void => void doing.go(async () => {
        try {
            said.note(task.task, t.kept_what(task.name), task, (await set_task(task, args)).changed);
            forget();
        } finally { // another phone was first: what it said is shown, what was typed here stays in its fields
            await again();
        }
    });
    return <Form send={() => keep(arguments_of(task, form))}>
        <p>{t.shop.goes_by[task.goes_by] ?? task.goes_by}{task.own && ` ${t.shop.task_own}`}</p>
        <Field label={t.shop.fixed} unit="min" hint={t.shop.three_hint} {...field("fixed")}/>
        {task.goes_by !== "once" && <Field label={t.shop.each(t.shop.one_of[task.goes_by] ?? task.goes_by)} unit="min" hint={t.shop.three_hint} {...field("each")}/>}
        <Field label={t.shop.months} unit={t.shop.months_unit} hint={t.shop.months_hint} mode="numeric" {...field("months")}/>
        <Field label={t.shop.excluded} lines={2} {...field("excluded")}/>
        <Problem text={doing.error}/>
        <div class="row">
            <Button submit busy={doing.busy}>{t.save}</Button>
            {task.own && <Button busy={doing.busy} onClick={() => keep(USUAL)}>{t.shop.usual}</Button>}
        </div>
    </Form>;
}

export function ShopTasks(): JSX.Element {
    const asked = useTasks(), of = (key: string): Task | undefined => asked.value?.find(one => one.task === key);
    const said = useSaid<Task>("tasks", key => of(key)?.changed, async (key, to) => {
        const was = of(key)!;
        return {was, changed: (await set_task(was, to.own ? arguments_of(to, form_of(to)) : USUAL)).changed};
    }, asked.again);
    return <Told asked={asked}>
        <p>{t.shop.tasks_how}</p>
        {(asked.value ?? []).map(task => <Deeper key={task.task} word={task.name} lazy><OneTask task={task} said={said} again={asked.again}/></Deeper>)}
    </Told>;
}
