// Peers of the trade's tests: the calendar read by a general library (ical.js), the exponents of ISO 4217 as another package ships them
// (currency-codes, list of 2024-06-25). Prints one line per finding; the test compares.
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
const require = createRequire(import.meta.url);
const [what, file] = process.argv.slice(2);
if (what === "ics") {
    const ICAL = require("ical.js").default ?? require("ical.js");
    const calendar = new ICAL.Component(ICAL.parse(readFileSync(file, "utf8")));
    for (const one of calendar.getAllSubcomponents("vevent")) {
        const event = new ICAL.Event(one);
        const start = event.startDate;
        console.log([event.uid, start.isDate ? "day" : "moment", start.toString(), event.summary, event.description ?? ""].map((s) => JSON.stringify(s)).join(" "));
    }
} else {
    for (const currency of require("currency-codes/data")) console.log(currency.code, currency.digits);
}
