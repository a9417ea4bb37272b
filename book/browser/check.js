// Every page of the built book in Chromium, from the file system and without a network:
// axe-core in each theme, at desk and phone width, in print and without script. Then what a
// keyboard does: skip link, contents, themes, search, and keys typed into a field of a page.
//
//   node check.js [--book FOLDER] [--shots FOLDER] [--only PAGE,PAGE]
//
// CHROMIUM names the browser, /usr/bin/chromium if nothing is said. Ends with 1 where a page
// fails.

import { mkdirSync } from "node:fs";
import { dirname, join, relative, resolve } from "node:path";
import { fileURLToPath, pathToFileURL } from "node:url";
import { parseArgs } from "node:util";
import { files, launch, report, tooWide, violations } from "./common.js";

const here = dirname(fileURLToPath(import.meta.url));
const { values: options } = parseArgs({
    options: {
        book: { type: "string", default: resolve(here, "../../target/book") },
        shots: { type: "string" },
        only: { type: "string" },
    },
});

const DESK = { width: 1280, height: 900 };
const PHONE = { width: 390, height: 844 };
// A theme changes colours and nothing else, so past the first one the rules on colour are
// enough, and far quicker.
const COLOR_RULES = ["color-contrast", "link-in-text-block"];
const VIEWS = [
    { name: "paper desk", theme: "paper", viewport: DESK },
    { name: "paper phone", theme: "paper", viewport: PHONE },
    ...["dusk", "night"].flatMap((theme) => [
        { name: `${theme} desk`, theme, viewport: DESK, rules: COLOR_RULES },
        { name: `${theme} phone`, theme, viewport: PHONE, rules: COLOR_RULES },
    ]),
    { name: "print", theme: "night", viewport: DESK, media: "print" },
    { name: "no script", theme: "paper", viewport: DESK, script: false },
];

function pages(folder) {
    return files(folder)
        .filter((path) => path.endsWith(".html") && !path.endsWith("toc.html"))
        .filter((path) => !options.only || options.only.split(",").includes(relative(folder, path)))
        .sort();
}

async function open(browser, view, faults) {
    const context = await browser.newContext({
        viewport: view.viewport,
        javaScriptEnabled: view.script !== false,
        reducedMotion: "reduce",
    });
    await context.addInitScript((theme) => {
        localStorage.setItem("mdbook-theme", theme);
        window.print = () => {};
    }, view.theme);
    await context.route("**/*", (route) => {
        const url = route.request().url();
        if (url.startsWith("file:") || url.startsWith("data:")) {
            return route.continue();
        }
        faults.push(`asks for ${url}`);
        return route.abort();
    });
    const page = await context.newPage();
    page.on("pageerror", (error) => faults.push(`script: ${error.message}`));
    if (view.media) {
        await page.emulateMedia({ media: view.media });
    }
    return page;
}

// A page whose scripts are off can't run axe; its text has to be there and its contents too.
async function inspectWithoutScript(page) {
    const text = await page.locator("main").innerText();
    const contents = page.frameLocator("iframe.sidebar-iframe-outer").locator("a");
    const faults = [];
    if (text.trim().length < 40) {
        faults.push("no text in main");
    }
    if ((await contents.count()) === 0) {
        faults.push("no contents");
    }
    return faults;
}

async function inspect(page, view) {
    if (view.script === false) {
        return inspectWithoutScript(page);
    }
    const faults = await violations(page, view.rules);
    faults.push(...(await tooWide(page)));
    if (!view.media) {
        const theme = await page.evaluate(() => document.documentElement.className);
        if (!theme.split(" ").includes(view.theme)) {
            faults.push(`the theme is "${theme}" and not ${view.theme}`);
        }
    }
    return faults;
}

// What a hand on the keyboard meets first.
async function keyboard(browser, path) {
    const faults = [];
    const page = await open(browser, { theme: "paper", viewport: DESK }, faults);
    await page.goto(pathToFileURL(path).href);
    const focus = () => page.evaluate(() => document.activeElement.outerHTML.slice(0, 120));
    const expect = async (what, wanted) => {
        const found = await focus();
        if (!found.includes(wanted)) {
            faults.push(`${what}: expected ${wanted}, the focus is on ${found}`);
        }
    };
    await page.keyboard.press("Tab");
    await expect("first stop", "jw-skip");
    await page.keyboard.press("Enter");
    await expect("after the skip link", "mdbook-content");
    const shown = () =>
        page.evaluate(() => document.getElementById("mdbook-sidebar-toggle-anchor").checked);
    const before = await shown();
    await page.focus("#mdbook-sidebar-toggle");
    await expect("contents", "mdbook-sidebar-toggle");
    await page.keyboard.press("Enter");
    await page.waitForTimeout(200);
    if ((await shown()) === before) {
        faults.push("Enter on the contents button does nothing");
    }
    await page.focus("#mdbook-theme-toggle");
    await page.keyboard.press("Enter");
    const names = await page.evaluate(() =>
        [...document.querySelectorAll("#mdbook-theme-list button")].map((b) => b.textContent),
    );
    if (names.join() !== "As the device,Paper,Dusk,Night") {
        faults.push(`themes are called ${names.join(", ")}`);
    }
    await page.keyboard.press("End");
    await page.keyboard.press("Enter");
    const theme = await page.evaluate(() => document.documentElement.className);
    if (!theme.split(" ").includes("night")) {
        faults.push(`choosing the last theme gave "${theme}"`);
    }
    await page.context().close();
    return faults;
}

// mdBook's search, from a file path: it opens by its key, finds a word, and its result is a page.
async function search(browser, path) {
    const faults = [];
    const page = await open(browser, { theme: "paper", viewport: DESK }, faults);
    await page.goto(pathToFileURL(path).href);
    const isOpen = () => page.locator("#mdbook-search-wrapper").isVisible();
    for (const key of ["s", "/"]) {
        await page.keyboard.press(key);
        if (!(await isOpen())) {
            faults.push(`"${key}" does not open the search`);
        }
        await page.keyboard.press("Escape");
        if (await isOpen()) {
            faults.push("Escape does not close the search");
        }
    }
    await page.keyboard.press("s");
    await page.waitForFunction(() => !document.querySelector(".searching"), null, { timeout: 5000 });
    await page.keyboard.type("directivity");
    const results = page.locator("#mdbook-searchresults a");
    await results.first().waitFor({ timeout: 5000 }).catch(() => {});
    const found = await results.evaluateAll((links) => links.map((link) => link.href));
    if (!found.some((href) => href.includes("planes/raw.html"))) {
        faults.push(`searching for "directivity" finds ${found.join(", ") || "nothing"}`);
    }
    for (const theme of ["paper", "dusk", "night"]) {
        await page.evaluate((name) => {
            document.documentElement.classList.remove("paper", "dusk", "night");
            document.documentElement.classList.add(name);
        }, theme);
        // The box and its results take their colours by a transition.
        await page.waitForTimeout(400);
        faults.push(...(await inspect(page, { theme })).map((fault) => `${theme}: ${fault}`));
    }
    const result = page.locator('#mdbook-searchresults a[href*="planes/raw.html"]').first();
    if ((await result.count()) > 0) {
        await result.click();
        await page.waitForURL(/raw\.html/, { timeout: 5000 }).catch(() => {});
        const marks = page.locator("main mark");
        await marks.first().waitFor({ timeout: 5000 }).catch(() => {});
        if (!page.url().includes("raw.html") || (await marks.count()) === 0) {
            faults.push(`the result leads to ${page.url()} with ${await marks.count()} marked words`);
        }
    }
    await page.context().close();
    return faults;
}

// Keys that are typed into a field or a slider of a page stay there: no page is turned, no search
// opens. The same keys on the page itself do both, so that the check can fail.
async function ownKeys(browser, path) {
    const faults = [];
    const page = await open(browser, { theme: "paper", viewport: DESK }, faults);
    const href = pathToFileURL(path).href;
    const KEYS = ["s", "/", "ArrowLeft", "ArrowRight"];
    const FIELDS = {
        input: "<input id=try>",
        number: "<input id=try type=number>",
        textarea: "<textarea id=try></textarea>",
        editable: "<div id=try contenteditable=true>x</div>",
        slider: "<div id=try role=slider tabindex=0 aria-valuenow=1>x</div>",
    };
    const moved = async () => {
        await page.waitForTimeout(150);
        const searching = await page.locator("#mdbook-search-wrapper").isVisible();
        return page.url() !== href || searching;
    };
    for (const [name, html] of Object.entries(FIELDS)) {
        for (const key of KEYS) {
            await page.goto(href);
            await page.evaluate((html) => {
                document.querySelector("main").insertAdjacentHTML("beforeend", html);
                const field = document.getElementById("try");
                field.addEventListener("keydown", (event) => (field.dataset.heard = event.key));
                field.focus();
            }, html);
            await page.keyboard.press(key);
            if (await moved()) {
                faults.push(`${key} in ${name} leaves the field`);
                continue;
            }
            const field = await page.evaluate(() => {
                const field = document.getElementById("try");
                return { heard: field.dataset.heard, value: field.value };
            });
            if (field.heard !== key) {
                faults.push(`${name} does not hear ${key}`);
            }
            if (name === "input" && key.length === 1 && field.value !== key) {
                faults.push(`${key} typed into a field gives "${field.value}"`);
            }
        }
    }
    for (const key of KEYS) {
        await page.goto(href);
        await page.keyboard.press(key);
        if (!(await moved())) {
            faults.push(`${key} on the page does nothing, so the check of the fields shows nothing`);
        }
    }
    await page.context().close();
    return faults;
}

// At desk width every box of shell output shows its widest line.
async function wholeLines(browser, list) {
    const faults = [];
    const page = await open(browser, { theme: "paper", viewport: DESK }, faults);
    for (const path of list.filter((path) => !path.endsWith("print.html"))) {
        await page.goto(pathToFileURL(path).href);
        const cut = await page.evaluate(
            () =>
                [...document.querySelectorAll(".jw-shell")].filter(
                    (box) => box.scrollWidth > box.clientWidth + 1,
                ).length,
        );
        if (cut > 0) {
            faults.push(`${path}: ${cut} boxes of shell output are cut`);
        }
    }
    await page.context().close();
    return faults;
}

const browser = await launch();
let failed = 0;
const list = pages(options.book);
if (list.length === 0) {
    console.error(`no page in ${options.book}; build the book first: cargo book build`);
    process.exit(2);
}
const found = new Map(list.map((path) => [path, []]));
for (const view of VIEWS) {
    const blocked = [];
    const page = await open(browser, view, blocked);
    for (const path of list) {
        // All pages in one, made for the printer; by themselves they are seen in every view.
        if (path.endsWith("print.html") && !view.media && view.script !== false) {
            continue;
        }
        await page.goto(pathToFileURL(path).href);
        const faults = await inspect(page, view);
        faults.push(...blocked.splice(0));
        found.get(path).push(...faults.map((fault) => `${view.name}: ${fault}`));
        if (options.shots) {
            mkdirSync(options.shots, { recursive: true });
            const name = relative(options.book, path).replace(/[/.]/g, "-");
            await page.screenshot({
                path: join(options.shots, `${name}-${view.name.replace(" ", "-")}.png`),
                fullPage: true,
            });
        }
    }
    await page.context().close();
}
for (const [path, faults] of found) {
    failed += report(`${relative(options.book, path)}, ${VIEWS.length} views`, faults);
}
const start = list.find((path) => path.endsWith("use.html")) ?? list[0];
for (const [name, check] of [
    ["keyboard", () => keyboard(browser, start)],
    ["search", () => search(browser, start)],
    ["keys in fields", () => ownKeys(browser, start)],
    ["whole lines", () => wholeLines(browser, list)],
]) {
    failed += report(name, await check());
}
await browser.close();
console.log(`${list.length} pages, ${failed} faults`);
process.exit(failed === 0 ? 0 : 1);
