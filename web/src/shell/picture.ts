// Pictures in the browser: what one looks like and how large it is, whatever it is; and those that the bench wrote.
import {small_upload} from "../api/api";

export interface Seen {
    bytes: Blob;
    /** Pixels of the picture that is shown. */
    size: [number, number];
    /** How many of the photograph's own pixels one of them is. */
    step: number;
}

async function size_of(bytes: Blob): Promise<[number, number]> {
    const address = URL.createObjectURL(bytes), image = new Image();
    try {
        image.src = address;
        await image.decode();
        return [image.naturalWidth, image.naturalHeight];
    } finally {
        URL.revokeObjectURL(address);
    }
}

/** How many photograph pixels a pixel of the small one is: the bench says it in a comment of the JPEG (ITU-T T.81, COM). */
export async function step_of(small: Blob): Promise<number> {
    const bytes = new Uint8Array(await small.slice(0, 512).arrayBuffer());
    for (let at = 2; at + 4 < bytes.length && bytes[at] === 0xff; at += 2 + (bytes[at + 2]! << 8 | bytes[at + 3]!)) {
        if (bytes[at + 1] !== 0xfe) continue;
        const words = new TextDecoder().decode(bytes.subarray(at + 4, at + 2 + (bytes[at + 2]! << 8 | bytes[at + 3]!)));
        const step = Number(words.replace("step ", ""));
        if (words.startsWith("step ") && step >= 1) return step;
    }
    return 1;
}

/** One that the bench has made small. */
export const seen_small = async (bytes: Blob): Promise<Seen> => ({bytes, size: await size_of(bytes), step: await step_of(bytes)});

/** A photograph that was chosen. A kind that this browser does not show (HEIC, raw) is sent to the bench, which makes a small one of it; what
 *  the bench cannot read either is refused in its words. */
export async function seen(photo: Blob): Promise<Seen> {
    try {
        return {bytes: photo, size: await size_of(photo), step: 1};
    } catch {
        return seen_small(await small_upload(photo));
    }
}

export const png_of = (base64: string | undefined): Blob | null =>
    base64 === undefined ? null : new Blob([Uint8Array.from(atob(base64), c => c.charCodeAt(0))], {type: "image/png"});
