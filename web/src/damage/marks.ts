// Marks on a photograph, without a colour of their own: a crack is a white line in black, lost colour is hatched.
const HATCH = 8, HALO = 2;

async function shown(bytes: Blob, width: number, height: number): Promise<Uint8ClampedArray> {
    const canvas = document.createElement("canvas"), pen = canvas.getContext("2d", {willReadFrequently: true})!;
    const picture = await createImageBitmap(bytes);
    canvas.width = width, canvas.height = height;
    pen.drawImage(picture, 0, 0, width, height);
    picture.close();
    return pen.getImageData(0, 0, width, height).data;
}

/** Whether a pixel lies near one that is marked. */
function grown(mask: Uint8Array, width: number, height: number, by: number): Uint8Array {
    const out = new Uint8Array(mask.length);
    for (let y = 0; y < height; y++) for (let x = 0; x < width; x++) {
        if (!mask[y * width + x]) continue;
        for (let v = Math.max(0, y - by); v <= Math.min(height - 1, y + by); v++)
            for (let u = Math.max(0, x - by); u <= Math.min(width - 1, x + by); u++) out[v * width + u] = 1;
    }
    return out;
}

/** The photograph with its cracks and its lost colour, as a JPEG. Masks are white where it is so, on the photograph's own pixels. */
export async function marked(photo: Blob, cracks: Blob, loss: Blob): Promise<Blob> {
    const picture = await createImageBitmap(photo), {width, height} = picture, canvas = document.createElement("canvas"), pen = canvas.getContext("2d")!;
    canvas.width = width, canvas.height = height;
    pen.drawImage(picture, 0, 0);
    picture.close();
    const image = pen.getImageData(0, 0, width, height), seen = await shown(cracks, width, height), lost = await shown(loss, width, height);
    const line = new Uint8Array(width * height).map((_, i) => seen[4 * i]! > 24 ? 1 : 0), core = grown(line, width, height, 1), halo = grown(line, width, height, 1 + HALO);
    for (let i = 0; i < width * height; i++) {
        const x = i % width, y = (i - x) / width, at = 4 * i, hatch = lost[at]! > 127 && (x + y) % (2 * HATCH) < HATCH;
        const grey = core[i] ? 255 : halo[i] ? 0 : hatch ? ((x + y) % (2 * HATCH) < HATCH / 2 ? 255 : 0) : -1;
        if (grey >= 0) image.data[at] = image.data[at + 1] = image.data[at + 2] = grey;
    }
    pen.putImageData(image, 0, 0);
    return new Promise((resolve, reject) => canvas.toBlob(blob => blob ? resolve(blob) : reject(new Error("")), "image/jpeg", .9));
}
