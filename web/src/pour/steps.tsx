// The step "pour": the chosen recipe is weighed in. What is poured is kept on this device after every toner and goes into the book, as a
// pot, when all is in.
import type {JSX} from "preact";
import {useEffect, useState} from "preact/hooks";
import {paper, run, run_once} from "../api/api";
import {useDraft} from "../colour/draft";
import {number_of} from "../colour/numbers";
import {Notes} from "../colour/reading_view";
import {save_blob} from "../colour/save";
import {to_step} from "../colour/to_step";
import type {Entry, Job, Pot} from "../job/job";
import {no_undo} from "../job/no_undo";
import {last_of} from "../job/job";
import type {Colour} from "../job/job";
import {grams, layers_of, toner_look} from "../pot/layers";
import {NamedPot} from "../pot/pot";
import type {Match} from "../recipe/recipe";
import {useAsked, useDoing} from "../shell/ask";
import {moment} from "../shell/time";
import {Button, Deeper, Field, Form, Link, Note, Problem, Waiting} from "../shell/ui";
import type {StepProps} from "../steps/steps";
import {add_step} from "../steps/steps";
import {difference_words} from "../swatch/swatch";
import {t} from "../words/words";
import {Over} from "./over";
import type {PourReply, Session} from "./pour";
import {arguments_of, begin, is_over, leave, mend_by, now_of, poured_argument, pot_layers, reading_of, take, tell, undo} from "./pour";
import {Pourer} from "./pourer";
import {Cautions, NO_SPRAY, SprayFields, SprayPlan, spray_arguments} from "./spray";

const RECIPE = "recipe.json";

const plan = (s: Session, recipe: Entry, name: string): Promise<PourReply> =>
    run<PourReply>("pour", arguments_of(s, `${RECIPE}#1`, name), {[RECIPE]: {entry: recipe.id}}).then(ran => ran.reply);

interface BeginProps {
    match: Match;
    recipe: Entry;
    name: string;
    start(s: Session): void;
}

function Begin({match, recipe, name, start}: BeginProps): JSX.Element {
    const [typed, set] = useDraft(`pour wish ${recipe.id}`, {batch: String(match.bench["batch_g"]), step: String(match.bench["scale_step_g"]), pot: "", wish: NO_SPRAY}), doing = useDoing();
    const {batch, step, pot, wish} = typed, put = (one: Partial<typeof typed>): void => set({...typed, ...one});
    const session = (): Session => begin(number_of(batch) ?? 0, number_of(step) ?? .01, number_of(pot), spray_arguments(wish));
    const open_paper = (): Promise<boolean> => doing.go(async () => {
        const blob = await paper("pour", arguments_of(session(), `${RECIPE}#1`, name), {[RECIPE]: {entry: recipe.id}});
        save_blob(blob, "pour-sheet.pdf");
    });
    const total = match.recipes[0]!.parts.reduce((sum, part) => sum + (part.ml ?? part.g), 0);
    return <Form send={() => start(session())}>
        <NamedPot layers={layers_of(match.recipes[0]!.parts, match.bench)} full_ml={1.08 * total} label={t.recipe.in_pot}/>
        <Field label={t.pour.batch} unit="g" mode="decimal" value={batch} set={batch => put({batch})}/>
        <Deeper word={t.pour.more}>
            <Field label={t.pour.step} unit="g" mode="decimal" value={step} set={step => put({step})} hint={t.pour.step_hint}/>
            <Field label={t.pour.cup} unit="g" mode="decimal" value={pot} set={pot => put({pot})} hint={t.pour.cup_hint}/>
            <SprayFields wish={wish} set={wish => put({wish})}/>
        </Deeper>
        <Problem text={doing.error}/>
        <Button submit main disabled={(number_of(batch) ?? 0) <= 0 || (number_of(step) ?? 0) <= 0}>{t.pour.begin}</Button>
        <Button quiet busy={doing.busy} onClick={() => void open_paper()}>{t.pour.paper}</Button>
    </Form>;
}

interface RunningProps extends StepProps {
    match: Match;
    recipe: Entry;
    name: string;
    session: Session;
    set(s: Session | null): void;
}

/** Thrown away: it was poured all the same, so the shelf has less of it. */
async function throw_away(p: RunningProps, reply: PourReply): Promise<void> {
    await p.log(reply, {note: t.pour.thrown});
    const {reply: list} = await run<{pots: Pot[]}>("pot list", {"--job": p.job.id});
    const thrown = [...list.pots].sort((a, b) => a.at.localeCompare(b.at)).pop();
    if (thrown) await run_once("pot log", {POT: thrown.id, EVENT: "emptied", "--words": t.pour.thrown});
    await p.reload();
}

function AllIn({p, reply}: {p: RunningProps; reply: PourReply}): JSX.Element {
    const doing = useDoing(), layers = pot_layers(p.session, reply, p.match.bench), full = layers.reduce((sum, layer) => sum + layer.ml, 0);
    const off = p.session.mend ? p.session.mend_de00 : reply.may_stay?.cost_de00 ?? null;
    const keep = (): Promise<boolean> => doing.go(async () => {
        await p.log(reply);
        p.set(null);
    });
    return <>
        <div role="status"><h2>{t.pour.all_in(grams(reading_of(p.session), p.session.step_g))}</h2></div>
        <p class="sentence">{off === null ? t.pour.ends_inside : t.pour.ends(difference_words(off))}</p>
        <NamedPot layers={layers} full_ml={1.08 * full} step={p.session.step_g} label={t.pour.in_pot}/>
        <SprayPlan reply={reply}/><Cautions reply={reply}/>
        <Problem text={doing.error}/>
        <Button main busy={doing.busy} onClick={() => void keep()}>{t.pour.keep}</Button>
        <Button quiet onClick={() => p.set(undo(p.session))}>{t.pour.undo}</Button>
    </>;
}

/** Before the first pour: what to wear and to do, once. */
function Before({reply, ready, stop}: {reply: PourReply; ready(): void; stop(): void}): JSX.Element {
    return <>
        <p class="sentence">{String(reply["before"])}</p>
        <Cautions reply={reply}/>
        <Button main onClick={ready}>{t.pour.zeroed}</Button>
        <Button quiet onClick={stop}>{t.pour.stop}</Button>
    </>;
}

function Running(p: RunningProps): JSX.Element {
    const {session: latest, set, match} = p, doing = useDoing();
    const key = `${poured_argument(latest) ?? ""} ${latest.batch_g}`, asked = useAsked(() => plan(latest, p.recipe, p.name), key);
    // Until the answer to a pour is here the pour before stays on the screen, and its button waits.
    const [known, set_known] = useState<{key: string; session: Session; reply: PourReply} | null>(null);
    useEffect(() => {
        if (asked.value) set_known({key, session: latest, reply: asked.value});
    }, [asked.value]);
    if (asked.error !== null) return <><Problem text={asked.error} again={() => void asked.again()}/>
        <Button quiet onClick={() => set(latest.poured.length ? undo(latest) : null)}>{latest.poured.length ? t.pour.undo : t.pour.stop}</Button></>;
    if (!known) return <Waiting/>;
    const {reply} = known, late = known.key !== key;
    if (!late) known.session = latest;
    const s = known.session;
    if (!s.ready) return <Before reply={reply} ready={() => set({...s, ready: true})} stop={() => set(null)}/>;
    if (is_over(s, reply)) return <Over reply={reply} names={toner => match.bench.toners[toner]?.name ?? toner} busy={doing.busy || late}
        leave={() => set(leave(s))} mend={mend => set(mend_by(s, mend))} undo={() => set(undo(s))}
        again={() => void doing.go(async () => {
            await throw_away(p, reply);
            set({...s, poured: [], mend: null, mend_de00: null, left_at: 0});
        })}/>;
    const now = now_of(s, reply);
    if (!now) return <AllIn p={p} reply={reply}/>;
    const layers = pot_layers(s, reply, match.bench), full = layers.reduce((sum, layer) => sum + layer.ml, 0);
    const level_ml = layers.filter(layer => layer.state === "in").reduce((sum, layer) => sum + layer.ml, 0);
    const density = match.bench.toners[now.toner]?.density_g_ml ?? 1, level = reading_of(s);
    return <>
        <Pourer now={now} level={level} step={s.step_g} layers={layers} full_ml={1.08 * full} busy={late}
            live_css={toner_look(match.bench.toners[now.toner], match.bench.surface)?.css ?? null}
            ml_at={g => level_ml + (g - level) / density}
            tell={reading => tell(s, now, reading)} take={reading => set(take(s, now, reading))}>
            {s.poured.length > 0 ? <Button onClick={() => set(undo(s))}>{t.pour.undo}</Button> : <Button onClick={() => set(null)}>{t.pour.stop}</Button>}
        </Pourer>
        <Notes of={reply}/>
    </>;
}

/** What was poured into the newest pot, as its document tells it. */
function Poured({entry, match, next, another}: {entry: Entry; match: Match; next(): void; another(): void}): JSX.Element {
    const parts = entry.document["poured"] as {toner: string; g: number}[];
    const layers = layers_of(parts.map(part => ({...part, ml: part.g / (match.bench.toners[part.toner]?.density_g_ml ?? 1)})), match.bench);
    return <>
        <p class="sentence">{t.pour.done(grams(parts.reduce((sum, part) => sum + part.g, 0)), moment(entry.at))}</p>
        <NamedPot layers={layers} full_ml={1.08 * layers.reduce((sum, layer) => sum + layer.ml, 0)} label={t.pour.in_pot}/>
        <SprayPlan reply={entry.document}/><Cautions reply={entry.document}/>
        <Button main onClick={next}>{t.pour.onward}</Button>
        <Button quiet onClick={another}>{t.pour.another}</Button>
    </>;
}

export const pour_of = (job: Job, colour: Colour | null): Entry | null =>
    job.entries.filter(e => e.kind === "pour" && (!colour || !e.colour || e.colour === colour.id) && e.document["poured"]?.length > 0
        && e.words !== t.pour.thrown).pop() ?? null;

function PourScreen(p: StepProps): JSX.Element {
    const recipe = last_of(p.job, "recipe", "match", p.colour), name = p.colour ? `${p.colour.name}, ${p.job.title}` : p.job.title;
    const [session, set] = useDraft<Session | null>(`pour ${recipe?.id ?? ""}`, null), [another, set_another] = useState(false);
    const entry = pour_of(p.job, p.colour);
    if (!recipe) return <Note><p>{t.pour.no_recipe}</p><Link class="button" to={to_step(p.job, "recipe", p.colour)}>{t.pour.to_recipe}</Link></Note>;
    const match = recipe.document as Match;
    if (session) return <Running {...p} match={match} recipe={recipe} name={name} session={session} set={s => (set(s), set_another(false))}/>;
    const fresh = entry && entry.at >= recipe.at;
    if (fresh && !another) return <Poured entry={entry} match={match} next={p.next} another={() => set_another(true)}/>;
    return <Begin match={match} recipe={recipe} name={name} start={s => {
        no_undo(p.job.id); // what is being poured is not taken away from under it
        set(s);
    }}/>;
}

add_step({
    name: "pour", of: "colour", screen: PourScreen, leads_on: true,
    outcome: (job, colour) => {
        const entry = pour_of(job, colour), poured = entry?.document["poured"] as {g: number}[] | undefined;
        return entry && poured ? `${grams(poured.reduce((sum, part) => sum + part.g, 0))} g` : null;
    },
});
