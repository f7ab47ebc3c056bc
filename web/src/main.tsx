// The page: who this device is, then the place that its address names.
import type {JSX} from "preact";
import {render} from "preact";
import {me} from "./api/api";
import {JobList} from "./job/list";
import {JobPlace} from "./job/place";
import {useAsked} from "./shell/ask";
import {usePlace} from "./shell/place";
import {Shell} from "./shell/shell";
import {Link, Screen, Told} from "./shell/ui";
import "./steps/all";
import "./style/base.css";
import {t} from "./words/words";

const Nothing = (): JSX.Element => <Screen title={t.no_such_place}><Link class="button" to="/">{t.to_jobs}</Link></Screen>;

function Bench(): JSX.Element {
    const {parts} = usePlace();
    const [place, second, third] = parts;
    if (place === undefined) return <JobList/>;
    if (place === "job" && second !== undefined) return <JobPlace key={second} number={second} step={third ?? null}/>;
    return <Nothing/>;
}

function App(): JSX.Element {
    const asked = useAsked(me, "me");
    return asked.value === null ? <Told asked={asked}/> : <Shell><Bench/></Shell>;
}

render(<App/>, document.getElementById("bench")!);
