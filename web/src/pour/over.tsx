// An over-pour: what it costs to leave it, and the ways to mend it, each as one large button with its price.
import type {JSX} from "preact";
import {grams, short_name} from "../pot/layers";
import {Button} from "../shell/ui";
import {difference_words} from "../swatch/swatch";
import {t} from "../words/words";
import type {Mend, PourReply} from "./pour";

interface Props {
    reply: PourReply;
    names(toner: string): string;
    leave(): void;
    mend(mend: Mend): void;
    again(): void;
    undo(): void;
    busy: boolean;
}

function Way({main, title, about, onClick, busy}: {main: boolean; title: string; about: string; onClick(): void; busy: boolean}): JSX.Element {
    return <li><Button main={main} busy={busy} onClick={onClick}><span class="way"><b>{title}</b><small>{about}</small></span></Button></li>;
}

export function Over(p: Props): JSX.Element {
    const {rescue, may_stay, scale_step_g: step} = p.reply, advice = rescue!.advice;
    const mend_words = (mend: Mend): string => t.pour.mend_words(grams(mend.added_g, step), grams(mend.total_g, step), difference_words(mend.de00),
        mend.pours.filter(pour => pour.let_down && !pour.let_down.stirred).map(pour => short_name(pour.name)));
    const ways: {key: string; title: string; about: string; go(): void}[] = [];
    if (may_stay) ways.push({key: "stay", title: t.pour.leave, about: t.pour.leave_words(difference_words(may_stay.cost_de00)), go: p.leave});
    if (rescue!.least) ways.push({key: rescue!.least.fits ? "enough" : "partial", title: rescue!.least.fits ? t.pour.enough : t.pour.partial,
        about: mend_words(rescue!.least), go: () => p.mend(rescue!.least!)});
    if (rescue!.whole?.fits) ways.push({key: "whole", title: t.pour.whole, about: mend_words(rescue!.whole), go: () => p.mend(rescue!.whole!)});
    ways.push({key: "begin again", title: t.pour.begin_again, about: t.pour.begin_again_words(grams(p.reply.reading_g, step)), go: p.again});
    const best = ways.find(way => way.key === advice) ?? ways[0]!;
    return <section class="over" aria-label={t.pour.over_title}>
        <div role="alert"><h2>{t.pour.over(rescue!.over.map(toner => short_name(p.names(toner))).join(", "))}</h2></div>
        <p>{t.pour.over_what}</p>
        <ul class="ways">{[best, ...ways.filter(way => way !== best)].map(way =>
            <Way key={way.key} main={way === best} title={way.title} about={way.about} onClick={way.go} busy={p.busy}/>)}</ul>
        <Button quiet onClick={p.undo}>{t.pour.mistyped}</Button>
    </section>;
}
