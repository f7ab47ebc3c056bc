// Money as the program writes it: whole minor units and a currency. No arithmetic here; it is only shown.
import {t} from "../words/words";

export function money(minor: number, currency: string): string {
    try {
        const format = new Intl.NumberFormat(t.language, {style: "currency", currency});
        const digits = format.resolvedOptions().maximumFractionDigits ?? 2;
        return format.format(minor / 10 ** digits);
    } catch {
        return `${minor} ${currency}`;
    }
}

/** Saves bytes under a name: the phone's own viewer opens them. */
export function save_as(blob: Blob, name: string): void {
    const address = URL.createObjectURL(blob), link = document.createElement("a");
    link.href = address;
    link.download = name;
    document.body.append(link);
    link.click();
    link.remove();
    setTimeout(() => URL.revokeObjectURL(address), 60000);
}
