// A paper that the bench has drawn goes where the browser puts files: the page stays where it is.
export function save_blob(blob: Blob, name: string): void {
    const link = document.createElement("a");
    link.href = URL.createObjectURL(blob);
    link.download = name;
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
}
