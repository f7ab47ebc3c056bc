// Pictures in the browser: how large one is, and those that the bench wrote.
import {Refused} from "../api/api";
import {t} from "../words/words";

/** Pixels as one looks at it. A kind that this browser does not show is refused in words. */
export async function size_of(file: Blob): Promise<[number, number]> {
    const address = URL.createObjectURL(file), image = new Image();
    try {
        image.src = address;
        await image.decode();
        return [image.naturalWidth, image.naturalHeight];
    } catch {
        throw new Refused("page-picture", t.picture_unseen(file instanceof File ? file.name : ""), 400);
    } finally {
        URL.revokeObjectURL(address);
    }
}

export const png_of = (base64: string | undefined): Blob | null =>
    base64 === undefined ? null : new Blob([Uint8Array.from(atob(base64), c => c.charCodeAt(0))], {type: "image/png"});
