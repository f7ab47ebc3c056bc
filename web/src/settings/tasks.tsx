// The shop's own minutes of each task, its guarantee, and what that leaves out: quotes and records are made of them.
import type {JSX} from "preact";
import {useState} from "preact/hooks";
import type {Arguments} from "../api/api";
import {run, run_once} from "../api/api";
import {useDraft} from "../job/draft";
import type {Asked} from "../shell/ask";
import {useAsked, useDoing} from "../shell/ask";
import {Button, Deeper, Field, Form, Problem, Told, Undo} from "../shell/ui";
import {t} from "../words/words";

export interface Task {
    task: string;
    name: string;
    goes_by: string;
    fixed_min: number[];
    each_min: number[];
    months: number;
    excluded: string;
    own: boolean;
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

function OneTask({task, done}: {task: Task; done(): Promise<void>}): JSX.Element {
    const before = form_of(task), [typed, set_typed, forget] = useDraft<Partial<TaskForm>>(`task ${task.task}`, {}), form = {...before, ...typed};
    const [was, set_was] = useState<Task | null>(null), doing = useDoing();
    const set = (one: Partial<TaskForm>): void => set_typed({...typed, ...one});
    const keep = (args: Arguments): Promise<boolean> => doing.go(async () => {
        await run_once("task set", {TASK: task.task, ...args});
        forget();
        set_was(task);
        await done();
    });
    const undo = (): Promise<void> => doing.go(async () => {
        const {fixed, each, months, excluded} = form_of(was!);
        await run_once("task set", was!.own ? {TASK: task.task, "--fixed": three(fixed), "--each": three(each), "--months": months, "--excluded": excluded} : {TASK: task.task, "--usual": true});
        set_was(null);
        await done();
    }).then(() => undefined);
    const send = (): void => void keep({"--fixed": three(form.fixed), "--each": task.goes_by === "once" ? undefined : three(form.each), "--months": form.months.trim(), "--excluded": form.excluded.trim()});
    return <Form send={send}>
        <p>{t.shop.goes_by[task.goes_by] ?? task.goes_by}{task.own && ` ${t.shop.task_own}`}</p>
        <Field label={t.shop.fixed} unit="min" hint={t.shop.three_hint} value={form.fixed} set={fixed => set({fixed})}/>
        {task.goes_by !== "once" && <Field label={t.shop.each(t.shop.one_of[task.goes_by] ?? task.goes_by)} unit="min" hint={t.shop.three_hint} value={form.each} set={each => set({each})}/>}
        <Field label={t.shop.months} unit={t.shop.months_unit} hint={t.shop.months_hint} mode="numeric" value={form.months} set={months => set({months})}/>
        <Field label={t.shop.excluded} lines={2} value={form.excluded} set={excluded => set({excluded})}/>
        <Problem text={doing.error}/>
        {was && <Undo word={t.kept} undo={undo}/>}
        <div class="row">
            <Button submit busy={doing.busy}>{t.save}</Button>
            {task.own && <Button busy={doing.busy} onClick={() => void keep({"--usual": true})}>{t.shop.usual}</Button>}
        </div>
    </Form>;
}

export function ShopTasks(): JSX.Element {
    const asked = useTasks();
    return <Told asked={asked}>
        <p>{t.shop.tasks_how}</p>
        {(asked.value ?? []).map(task => <Deeper key={task.task} word={task.name} lazy><OneTask task={task} done={asked.again}/></Deeper>)}
    </Told>;
}
