// The pieces of a job and its colours: what each colour is for, and on which pieces it goes.
import type {JSX} from "preact";
import {useState} from "preact/hooks";
import type {Asked} from "../api/operations";
import {run, run_once} from "../api/api";
import {useDoing} from "../shell/ask";
import {Button, Choice, Deeper, Field, Form, Many, Problem, Undo} from "../shell/ui";
import {t} from "../words/words";
import {useDraft} from "./draft";
import type {Colour, Job} from "./job";

const ROLES = ["body", "second", "thread", "piping", "other"] as const;
type Role = typeof ROLES[number];
type Said = Pick<Asked["job add"], "--role" | "--piece" | "--off">;

/** "thread, on back rest": the pieces only where the colour does not go on all of them. */
export function colour_about(job: Job, colour: Colour): string {
    const on = job.pieces.filter(piece => colour.pieces.includes(piece.id)), all = on.length === job.pieces.length;
    return t.about.on(t.about.roles[colour.role], all ? "" : on.map(piece => piece.name).join(", ") || t.about.on_none);
}

interface OneProps {
    job: Job;
    colour: Colour;
    reload(): Promise<void>;
}

function OneColour({job, colour, reload}: OneProps): JSX.Element {
    const doing = useDoing(), [back, set_back] = useState<Said[] | null>(null);
    // What was pressed is shown until the book has it or has refused it.
    const [meant, set_meant] = useState<Partial<Pick<Colour, "role" | "pieces">>>({}), shown = {...colour, ...meant};
    const say = (said: Said[], undo: Said[] | null, mean: typeof meant = {}): Promise<boolean> => doing.go(async () => {
        set_meant(mean);
        try {
            for (const one of said) await run("job add", {JOB: job.id, "--colour": colour.id, ...one});
            set_back(undo);
        } finally {
            await reload();
            set_meant({});
        }
    });
    const role = (to: Role): void => void say([{"--role": to}], [{"--role": colour.role}], {role: to});
    const pieces = (to: string[]): void => {
        const turned = job.pieces.filter(piece => to.includes(piece.id) !== colour.pieces.includes(piece.id));
        const put = (on: (id: string) => boolean): Said[] => turned.map(piece => ({"--piece": piece.id, ...on(piece.id) ? {} : {"--off": true}}));
        void say(put(id => to.includes(id)), put(id => colour.pieces.includes(id)), {pieces: to});
    };
    return <>
        <Choice<Role> label={t.about.role} value={shown.role} set={role} from={ROLES.map(value => ({value, word: t.about.roles[value]}))}/>
        {job.pieces.length > 0 && <Many label={t.about.goes_on} value={shown.pieces} set={pieces} from={job.pieces.map(piece => ({value: piece.id, word: piece.name}))}/>}
        <Problem text={doing.error}/>
        {back && <Undo word={t.kept} undo={async () => void await say(back, null)}/>}
    </>;
}

interface NewColour {
    name: string;
    role: Role | null;
    /** Off which pieces it is left; a piece that comes later is not among them. */
    off: string[];
}

const NO_COLOUR: NewColour = {name: "", role: null, off: []};

function AddColour({job, reload}: {job: Job; reload(): Promise<void>}): JSX.Element {
    const doing = useDoing(), [draft, put, forget] = useDraft<NewColour>(`new colour ${job.id}`, NO_COLOUR), set = (one: Partial<NewColour>): void => put({...draft, ...one});
    const role = draft.role ?? (job.colours.length ? "second" : "body"), on = job.pieces.filter(piece => !draft.off.includes(piece.id)), name = draft.name.trim();
    const send = (): void => void (name && doing.go(async () => {
        await run_once("job add", {JOB: job.id, "--colour": name, "--role": role});
        for (const piece of on) await run("job add", {JOB: job.id, "--colour": name, "--piece": piece.id});
        forget();
        await reload();
    }));
    return <Form send={send}>
        <Field label={t.about.add_colour} hint={t.new_job.colours_hint} value={draft.name} set={to => set({name: to})}/>
        {name && <>
            <Choice<Role> label={t.about.role} value={role} set={to => set({role: to})} from={ROLES.map(value => ({value, word: t.about.roles[value]}))}/>
            {job.pieces.length > 1 && <Many label={t.about.goes_on} value={on.map(piece => piece.id)}
                set={to => set({off: job.pieces.filter(piece => !to.includes(piece.id)).map(piece => piece.id)})} from={job.pieces.map(piece => ({value: piece.id, word: piece.name}))}/>}
        </>}
        <Problem text={doing.error}/>
        <Button submit busy={doing.busy} disabled={!name}>{t.about.add}</Button>
    </Form>;
}

function AddPiece({job, reload}: {job: Job; reload(): Promise<void>}): JSX.Element {
    const doing = useDoing(), [{name}, set, forget] = useDraft(`new piece ${job.id}`, {name: ""});
    const send = (): void => void (name.trim() && doing.go(async () => {
        await run_once("job add", {JOB: job.id, "--piece": name.trim()});
        forget();
        await reload();
    }));
    return <Form send={send}>
        <Field label={t.about.add_piece} value={name} set={to => set({name: to})}/>
        <Problem text={doing.error}/>
        <Button submit busy={doing.busy} disabled={!name.trim()}>{t.about.add}</Button>
    </Form>;
}

export function Parts({job, reload}: {job: Job; reload(): Promise<void>}): JSX.Element {
    return <>
        <h3>{t.about.pieces}</h3>
        {job.pieces.length === 0 && <p>{t.about.no_pieces}</p>}
        <ul class="plain">{job.pieces.map(piece => <li key={piece.id}>{piece.name}{piece.materials.length > 0 && `: ${piece.materials.join(", ")}`}</li>)}</ul>
        <AddPiece job={job} reload={reload}/>
        <h3>{t.about.colours}</h3>
        {job.colours.length === 0 && <p>{t.about.no_colours}</p>}
        {job.colours.map(colour => <Deeper key={colour.id} word={`${colour.name}: ${colour_about(job, colour)}`}><OneColour job={job} colour={colour} reload={reload}/></Deeper>)}
        <AddColour job={job} reload={reload}/>
    </>;
}
