// Numbers as they are typed at a bench: 12,5 is 12.5.
export function number_of(text: string): number | null {
    const plain = text.trim().replace("\u2212", "-").replace(",", ".");
    return /^[+-]?(\d+\.?\d*|\.\d+)$/.test(plain) ? Number(plain) : null;
}

/** As an argument: what was typed when it is a number, nothing when it is empty. */
export const argument_of = (text: string): number | undefined => number_of(text) ?? undefined;
