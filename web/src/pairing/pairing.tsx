// A device that the bench does not know yet: six figures from one that it knows.
import type {JSX} from "preact";
import {useEffect, useState} from "preact/hooks";
import {pair} from "../api/api";
import {useDoing} from "../shell/ask";
import {Button, Field, Form, Note, Problem, Screen} from "../shell/ui";
import {t} from "../words/words";

const device_name = (): string =>
    /ipad|tablet/i.test(navigator.userAgent) ? t.pairing.tablet : /mobi|android|iphone/i.test(navigator.userAgent) ? t.pairing.phone
        : t.pairing.computer;

export function Pairing({paired}: {paired(): void}): JSX.Element {
    const [code, set_code] = useState(""), [name, set_name] = useState(device_name);
    const doing = useDoing();
    const send = (): void => void doing.go(async () => {
        await pair(code.replace(/\D/g, ""), name.trim() || device_name());
        paired();
    });
    const [used] = useState(() => new URLSearchParams(location.search).has("ticket"));
    useEffect(() => { // no ticket stays in the address, not even one that is used
        if (used) history.replaceState(null, "", "/");
    }, []);
    return <Screen title={t.pairing.title}>
        {used && <Note><p>{t.pairing.used}</p></Note>}
        <p>{t.pairing.how}</p>
        <Form send={send}>
            <Field label={t.pairing.code} hint={t.pairing.code_hint} value={code} set={set_code} mode="numeric" complete="one-time-code" needed/>
            <Field label={t.pairing.name} hint={t.pairing.name_hint} value={name} set={set_name}/>
            <Problem text={doing.error}/>
            <Button main submit busy={doing.busy} disabled={code.replace(/\D/g, "").length !== 6}>{t.pairing.send}</Button>
        </Form>
        <p class="after">{t.pairing.on_machine}</p>
    </Screen>;
}
