// Money as the program and its papers write it: whole minor units and a currency. No arithmetic here; it is only shown.
const THIN = "\u202f";

function digits_of(currency: string): number {
    try {
        return new Intl.NumberFormat("en", {style: "currency", currency}).resolvedOptions().maximumFractionDigits ?? 2;
    } catch {
        return 2;
    }
}

/** "1 612.78": for columns whose head names the currency. */
export function amount(minor: number, currency: string): string {
    const digits = digits_of(currency), [whole, part] = (Math.abs(minor) / 10 ** digits).toFixed(digits).split(".");
    return `${minor < 0 ? "\u2212" : ""}${whole!.replace(/\B(?=(\d{3})+$)/g, THIN)}${part ? `.${part}` : ""}`;
}

export const money = (minor: number, currency: string): string => `${amount(minor, currency)}\u00a0${currency}`;

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
