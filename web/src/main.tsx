// The page: who this device is, then the place that its address names.
import type {JSX} from "preact";
import {render} from "preact";
import {useEffect} from "preact/hooks";
import type {Me} from "./api/api";
import {me, SENT_AWAY} from "./api/api";
import {BookPlace, FinishPlace} from "./book/book";
import {JobList} from "./job/list";
import {NewJob} from "./job/new";
import {JobPlace} from "./job/place";
import {Pairing} from "./pairing/pairing";
import {SettingsPart, SettingsPlace} from "./settings/settings";
import {TonerPlace} from "./shelf/bottle";
import {ShelfPlace} from "./shelf/shelf";
import {useAsked} from "./shell/ask";
import {usePlace} from "./shell/place";
import {hold_presses} from "./shell/press";
import {Shell} from "./shell/shell";
import {tell_by} from "./shell/time";
import {Link, Screen, Told} from "./shell/ui";
import "./steps/all";
import "./style/base.css";
import "./style/places.css";
import {t} from "./words/words";

const Nothing = (): JSX.Element => <Screen title={t.no_such_place}><Link class="button" to="/">{t.to_jobs}</Link></Screen>;

function Bench({who}: {who: Me}): JSX.Element {
    const {parts: [place, second, third]} = usePlace();
    switch (place) {
    case undefined: return <JobList in_demo={who.demo}/>;
    case "new": return <NewJob/>;
    case "job": return second ? <JobPlace key={second} number={second} step={third ?? null}/> : <Nothing/>;
    case "shelf": return second ? <TonerPlace key={second} id={second}/> : <ShelfPlace/>;
    case "book": return second ? <FinishPlace key={second} id={second}/> : <BookPlace/>;
    case "settings": return second ? <SettingsPart key={second} name={second}/> : <SettingsPlace me={who}/>;
    default: return <Nothing/>;
    }
}

function App(): JSX.Element {
    const asked = useAsked(me, "me");
    useEffect(() => {
        const away = (): void => void asked.again();
        addEventListener(SENT_AWAY, away);
        return () => removeEventListener(SENT_AWAY, away);
    }, []);
    if (asked.value === null) return <main class="screen" id="work"><h1>{t.name_of_page}</h1><Told asked={asked}/></main>;
    tell_by(asked.value.zone);
    return asked.value.paired ? <Shell in_demo={asked.value.demo}><Bench who={asked.value}/></Shell> : <Pairing paired={() => void asked.again()}/>;
}

hold_presses();
render(<App/>, document.getElementById("bench")!);
