// Every sentence of the page lies in its one catalogue (web/src/words), so that another language is another catalogue: no text and no spoken name
// in the screens themselves. Signs that are the same in every language (units, standards, names of quantities) may stand there.
// Usage: node words.mjs
import {readdirSync, readFileSync} from "node:fs";
import {createRequire} from "node:module";
import {check, summary} from "./count.mjs";

const web = new URL("../../web/", import.meta.url), ts = createRequire(new URL("package.json", web))("typescript");
const SIGNS = /^(mm|cm²|m²|m2|µm|ml|g|GU|min|h|hh:mm|km|bar|s|m\/s|dE00|L\*|a\*|b\*|nm|ISO 25178-2|°C)$/;
const SPOKEN = new Set(["label", "title", "alt", "aria-label", "placeholder", "word", "words", "hint", "about", "summary"]);

const is_sentence = text => /[A-Za-zÀ-ž]{2}/.test(text) && !text.trim().split(/\s+/).every(word => SIGNS.test(word.replace(/[()·:,]/g, "")) || !/[A-Za-z]{2}/.test(word)) && !SIGNS.test(text.trim());

/** Literals that a person would read or hear. */
function literals(file) {
    const source = ts.createSourceFile(file.pathname, readFileSync(file, "utf8"), ts.ScriptTarget.Latest, true, ts.ScriptKind.TSX), found = [];
    const tell = (node, text) => is_sentence(text) && found.push(`${file.pathname.split("/src/")[1]}:${source.getLineAndCharacterOfPosition(node.getStart()).line + 1}: ${text.trim()}`);
    const text_of = node => ts.isStringLiteral(node) || ts.isNoSubstitutionTemplateLiteral(node) ? node.text : ts.isTemplateExpression(node) ? [node.head, ...node.templateSpans.map(span => span.literal)].map(part => part.text).join(" ") : null;
    const shown = node => { // what an expression in braces may come out as
        if (ts.isConditionalExpression(node)) return [...shown(node.whenTrue), ...shown(node.whenFalse)];
        if (ts.isBinaryExpression(node)) return shown(node.right);
        if (ts.isParenthesizedExpression(node)) return shown(node.expression);
        return text_of(node) === null ? [] : [node];
    };
    const visit = node => {
        if (ts.isJsxText(node)) tell(node, node.text);
        if (ts.isJsxExpression(node) && node.expression && !ts.isJsxAttribute(node.parent)) for (const one of shown(node.expression)) tell(one, text_of(one));
        if (ts.isJsxAttribute(node) && SPOKEN.has(node.name.getText()) && node.initializer) {
            const value = ts.isJsxExpression(node.initializer) ? node.initializer.expression : node.initializer;
            for (const one of shown(value)) tell(one, text_of(one));
        }
        ts.forEachChild(node, visit);
    };
    visit(source);
    return found;
}

const src = new URL("src/", web), files = readdirSync(src, {recursive: true}).filter(name => name.endsWith(".tsx"));
const found = files.flatMap(name => literals(new URL(name, src)));
check(`no screen holds a sentence of its own (${files.length} files)`, files.length > 40 && found.length === 0, found.join("; "));
summary();
