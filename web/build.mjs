// web/src -> web/dist, which is committed: russet is built without Node. ./test builds again and compares.
import {build} from "esbuild";
import {copyFile, mkdir} from "node:fs/promises";

await mkdir("dist", {recursive: true});
await build({
    entryPoints: {app: "src/main.tsx"}, outdir: "dist", bundle: true, minify: true, format: "iife", target: ["es2020"],
    jsx: "automatic", jsxImportSource: "preact", legalComments: "none", charset: "utf8", logLevel: "warning",
});
for (const file of ["index.html", "icon.svg", "manifest.webmanifest"]) await copyFile(`src/${file}`, `dist/${file}`);
