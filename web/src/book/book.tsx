// The book of finishes: what was made before, found by its colour or by words, and made again.
import type {JSX} from "preact";
import {useState} from "preact/hooks";
import type {Files} from "../api/api";
import type {Asked} from "../api/operations";
import {run} from "../api/api";
import type {Document, JobBrief} from "../job/job";
import {load_job} from "../job/job";
import {useAsked, useDoing} from "../shell/ask";
import {go, usePlace} from "../shell/place";
import type {Place} from "../shell/reading";
import {is_place, NO_PLACE, place_argument, Reading} from "../shell/reading";
import {moment} from "../shell/time";
import {Button, Choice, Deeper, Field, Form, Link, Problem, Screen, Told} from "../shell/ui";
import {step_named} from "../steps/steps";
import {look} from "../swatch/see";
import {t} from "../words/words";

interface Finish {
    id: string;
    name: string;
    words: string;
    job: string | null;
    lab: number[] | null;
    de00: number | null;
    invented: boolean;
    at: string;
}

interface Recipe extends Document {
    name: string;
    parts: [string, string, string, number, ...unknown[]][];
}

const MOST = 24;

const how_near = (de00: number): string => de00 < 0.8 ? t.book.same : de00 < 2.3 ? t.book.close : t.book.far;

export function Patch({lab, words}: {lab: number[] | null; words: string}): JSX.Element {
    const seen = lab ? look({lab}, "D65") : null;
    return <svg class="patch" viewBox="0 0 10 10" preserveAspectRatio="none" {...(words ? {role: "img" as const, "aria-label": words} : {"aria-hidden": true})}>
        {seen && <rect width="10" height="10" fill={seen.css}/>}
    </svg>;
}

function FinishCard({finish}: {finish: Finish}): JSX.Element {
    return <li><Link to={`/book/${finish.id}`} class="card with-picture">
        <Patch lab={finish.lab} words=""/>
        <span class="body">
            <strong>{finish.name}</strong>
            {finish.words && <span class="of">{finish.words}</span>}
            <span class="where">{finish.de00 !== null ? how_near(finish.de00) : t.book.made(moment(finish.at))}{finish.invented && ` · ${t.book.invented}`}</span>
        </span>
    </Link></li>;
}

export function BookPlace(): JSX.Element {
    const {query} = usePlace(), words = query.get("words") ?? "", lab = query.get("near") ?? "";
    const [near, set_near] = useState<Place>({...NO_PLACE, lab}), [typed, set_typed] = useState(words), [turn, set_turn] = useState(0);
    const asked = useAsked(async () => {
        const files: Files = {}, args: Asked["finish find"] = {"--top": MOST, "--words": words};
        if (is_place(near)) args["--near"] = place_argument(near, "near", files);
        return (await run<{finishes: Finish[]}>("finish find", args, files)).reply.finishes;
    }, `${words} ${lab} ${turn}`);
    const find = (): void => {
        const wanted = new URLSearchParams();
        if (typed.trim()) wanted.set("words", typed.trim());
        if (!near.document && is_place(near)) wanted.set("near", near.lab);
        const text = wanted.toString();
        go(`/book${text ? `?${text}` : ""}`, true);
        set_turn(turn + 1);
    };
    const searched = words !== "" || is_place(near), finishes = asked.value ?? [];
    return <Screen title={t.places.book}>
        <Form send={find}>
            <Field label={t.book.words} type="search" value={typed} set={set_typed}/>
            <Deeper word={t.book.near} open={lab !== ""}><Reading label={t.book.near} place={near} set={set_near}/></Deeper>
            <div class="row"><Button submit>{t.book.find}</Button></div>
        </Form>
        <Told asked={asked}>
            <h2><span role="status">{finishes.length === 0 ? (searched ? t.book.none_such : t.book.none) : searched ? t.book.found(finishes.length) : t.book.all}</span></h2>
            <ul class="cards two">{finishes.map(one => <FinishCard key={one.id} finish={one}/>)}</ul>
        </Told>
    </Screen>;
}

const recipe_of = async (id: string): Promise<Recipe> => (await run<Recipe>("finish show", {FINISH: id})).reply;

/** Takes the recipe into a job that is on the bench; its pour step goes on from there. */
function Again({id, name}: {id: string; name: string}): JSX.Element {
    const jobs = useAsked(async () => (await run<{jobs: JobBrief[]}>("job list", {"--state": "open", "--top": 12})).reply.jobs, "open");
    const [number, set_number] = useState<string | null>(null), [colour, set_colour] = useState<string | null>(null);
    const job = useAsked(async () => number === null ? null : load_job(number), number), doing = useDoing();
    const colours = job.value?.colours ?? [], chosen = colour ?? colours[0]?.id ?? null;
    const take = (): void => void doing.go(async () => {
        await run("job log", {JOB: job.value!.id, FILE: "recipe", "--step": "recipe", "--note": name, ...(chosen ? {"--colour": chosen} : {})},
            {recipe: {document: await recipe_of(id)}});
        const next = step_named("pour") ?? step_named("recipe");
        go(`/job/${number}${next ? `/${next.name}` : ""}${chosen && colours.length > 1 ? `?colour=${chosen}` : ""}`);
    });
    if (jobs.value?.length === 0) return <p>{t.book.no_jobs}</p>;
    return <Told asked={jobs}>
        <Choice label={t.book.for_job} value={number} set={value => {
            set_number(value);
            set_colour(null);
        }} from={(jobs.value ?? []).map(one => ({value: String(one.number), word: one.title, about: one.customer ?? ""}))}/>
        {colours.length > 1 && <Choice label={t.book.for_colour} value={chosen} set={set_colour} from={colours.map(one => ({value: one.id, word: one.name}))}/>}
        <Problem text={doing.error ?? job.error}/>
        <Button main busy={doing.busy} disabled={!job.value} onClick={take}>{t.book.into}</Button>
    </Told>;
}

export function FinishPlace({id}: {id: string}): JSX.Element {
    const asked = useAsked(async () => {
        const recipe = await recipe_of(id);
        const {reply} = await run<{finishes: Finish[]}>("finish find", {"--words": recipe.name, "--top": 50});
        return {recipe, finish: reply.finishes.find(one => one.id === id) ?? null};
    }, id);
    const recipe = asked.value?.recipe, finish = asked.value?.finish ?? null;
    return <Screen title={recipe?.name ?? t.places.book} above={<p class="above"><Link class="back" to="/book">{t.places.book}</Link></p>}>
        <Told asked={asked}>
            {finish?.lab && <div class="big-patch"><Patch lab={finish.lab} words={t.book.patch(recipe!.name)}/></div>}
            {finish?.words && <p>{finish.words}</p>}
            {finish && <p class="hint">{t.book.made(moment(finish.at))}{finish.invented && ` · ${t.book.invented}`}</p>}
            <Deeper word={t.book.parts} open><table><tbody>{recipe?.parts?.map(part =>
                <tr key={part[0]}><th scope="row">{part[1]}</th><td>{(100 * part[3]).toFixed(1)} %</td></tr>)}</tbody></table></Deeper>
            <h2>{t.book.pour}</h2>
            {recipe && <Again id={id} name={recipe.name}/>}
        </Told>
    </Screen>;
}
