// The book on paper, from the file system: the bench card is one page, the instructor's guide two, the
// whole book has its cover and its pages, and nothing that must stay whole is taller than a page.
//
//   node print.js [--book FOLDER]
//
// CHROMIUM names the browser, /usr/bin/chromium if nothing is said. Ends with 1 on a fault.

import { dirname, join, resolve } from "node:path";
import { fileURLToPath, pathToFileURL } from "node:url";
import { parseArgs } from "node:util";
import { launch } from "./common.js";

const here = dirname(fileURLToPath(import.meta.url));
const { values: options } = parseArgs({
    options: { book: { type: "string", default: resolve(here, "../../target/book") } },
});

// A4 less the margins of print.css, in CSS pixels: 174 by 259 mm.
const PAGE = { width: Math.floor((174 / 25.4) * 96), height: Math.floor((259 / 25.4) * 96) };
// What print.css keeps in one piece.
const WHOLE = "figure.jw, .jw-table table, .table-wrapper table, .jw-shell, pre, math[display=block]";

const browser = await launch();
const faults = [];

async function open(name) {
    const page = await browser.newPage({ viewport: PAGE, reducedMotion: "reduce" });
    await page.addInitScript(() => {
        window.print = () => {};
    });
    await page.emulateMedia({ media: "print" });
    await page.goto(pathToFileURL(join(options.book, name)).href);
    return page;
}

for (const [name, most] of [
    ["card.html", 1],
    ["labs/guide.html", 2],
]) {
    const page = await open(name);
    const pdf = await page.pdf({ preferCSSPageSize: true });
    const pages = pdf.toString("latin1").match(/\/Type\s*\/Page\b/g)?.length ?? 0;
    if (pages < 1 || pages > most) {
        faults.push(`${name}: ${pages} pages, and it has ${most} at most`);
    }
}

const whole = await open("print.html");
const found = await whole.evaluate(
    ([selector, size]) => {
        const cover = document.querySelector(".jw-cover");
        const parts = [...document.querySelectorAll(selector)].filter((part) => part.clientWidth > 0);
        const tooLarge = parts
            .map((part) => [part.getBoundingClientRect(), part])
            .filter(([box]) => box.height > size.height || box.right > size.width + 1)
            .map(([box, part]) => {
                const what = part.textContent.trim().slice(0, 60);
                return `${part.tagName} ${Math.round(box.width)} by ${Math.round(box.height)}: ${what}`;
            });
        return { cover: cover && getComputedStyle(cover).display, parts: parts.length, tooLarge };
    },
    [WHOLE, PAGE],
);
if (found.cover !== "flex") {
    faults.push("print.html: no cover");
}
if (found.parts < 100) {
    faults.push(`print.html: only ${found.parts} figures, tables and pieces of code found`);
}
faults.push(...found.tooLarge.map((part) => `print.html: larger than a page, ${part}`));
await browser.close();

for (const fault of faults) {
    console.error(fault);
}
console.log(`print: ${found.parts} pieces looked at, ${faults.length} faults`);
process.exit(faults.length > 0 ? 1 : 0);
