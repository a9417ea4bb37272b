// The live pages of the built book in Chromium, served on loopback and opened from a file path: a
// part is dragged, stepped and typed, and every number of the page is held against the native
// renderer and against `jig read`. Then hostile links, tasks, and what the keyboard does.
//
//   node live.js --served FOLDER --stick FOLDER --bin FOLDER [--seed NUMBER] [--steps NUMBER]
//           [--hostile NUMBER] [--checks NAME,NAME]
//
// FOLDER of --bin holds the programs `book` and `jig`. Ends with 1 where something fails.

import { execFileSync } from "node:child_process";
import { mkdtempSync, readFileSync, readdirSync, rmSync, statSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, relative } from "node:path";
import { fileURLToPath, pathToFileURL } from "node:url";
import { parseArgs } from "node:util";
import { brotliCompressSync, gzipSync } from "node:zlib";
import { files, isFirefox, launch, random, report as show, serve, tooWide, violations as inspect } from "./common.js";

const { values: options } = parseArgs({
    options: {
        served: { type: "string" },
        stick: { type: "string" },
        bin: { type: "string" },
        seed: { type: "string", default: "1" },
        steps: { type: "string", default: "3" },
        hostile: { type: "string", default: "1000" },
        checks: { type: "string", default: "walk,hands,front,hostile,tasks,sweeps,accessible,timings" },
    },
});
const scratch = mkdtempSync(join(tmpdir(), "jigwise-live-"));
const seed = Number(options.seed);

/** The pages that have something to move. */
function livePages(folder) {
    return files(folder)
        .filter((path) => path.endsWith(".html"))
        .filter((path) => readFileSync(path, "utf8").includes('class="jw-live"'))
        .map((path) => relative(folder, path))
        .filter((name) => name !== "print.html" && name !== "index.html")
        .sort();
}

let failed = 0;
function report(name, faults) {
    failed += show(name, faults);
}

/** One edition of the book and a browser that looks at it. */
class Edition {
    constructor(browser, name, origin) {
        Object.assign(this, { browser, name, origin, faults: [] });
    }

    url(page, hash = "") {
        return new URL(page, this.origin).href + hash;
    }

    async context(more = {}) {
        const context = await this.browser.newContext({ viewport: { width: 1280, height: 900 }, ...more });
        await context.route("**/*", (route) => {
            const url = route.request().url();
            if (url.startsWith(this.origin) || /^(data|blob):/.test(url)) {
                return route.continue();
            }
            this.faults.push(`asks for ${url}`);
            return route.abort();
        });
        const page = await context.newPage();
        page.on("pageerror", (error) => {
            // Firefox reports that axe-core speaks to the frame of a report, which may not answer.
            if (!(isFirefox && error.message.includes("target origin"))) {
                this.faults.push(`script: ${error.message}`);
            }
        });
        page.on("console", (message) => {
            if (message.type() === "error" || message.type() === "warning") {
                this.faults.push(`console: ${message.text()}`);
            }
        });
        return page;
    }

    /** Opens a page and waits until it lives. */
    async open(page, name, hash = "") {
        await page.goto("about:blank");
        await page.goto(this.url(name, hash));
        await page.waitForSelector("html.jw-lives", { timeout: 20000 });
    }

    taken() {
        return this.faults.splice(0);
    }
}

async function settled(page) {
    await page.evaluate(() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done))));
}

/** The page's pieces that follow the part, with their sources and what they show. */
function shown(page) {
    return page.evaluate(() =>
        [...document.querySelectorAll("main .jw-follows")].map((element) => {
            const { value, formula, displayed, block, body, id } = element.dataset;
            const source = Object.fromEntries(
                Object.entries({ value, formula, displayed, block, body, id }).filter(([, text]) => text !== undefined),
            );
            // Buttons are the script's own.
            const built = element.cloneNode(true);
            built.querySelectorAll("button").forEach((button) => button.remove());
            return { source, text: built.textContent, count: built.querySelectorAll("*").length };
        }),
    );
}

/** The same pieces as the native renderer makes them. */
async function native(page, walks) {
    const asked = walks.map(({ of, fragment, pieces }) => ({ of, fragment, pieces: pieces.map((piece) => piece.source) }));
    const answer = execFileSync(join(options.bin, "book"), ["pieces"], {
        input: JSON.stringify(asked),
        maxBuffer: 1 << 30,
    });
    const answers = JSON.parse(answer);
    // As text, by a browser: entities and elements are its business.
    return page.evaluate(
        (answers) =>
            answers.map((answer) =>
                (answer.pieces ?? []).map((piece) => {
                    if (piece.refused !== undefined) {
                        return { refused: piece.refused };
                    }
                    const holder = document.createElement("template");
                    holder.innerHTML = piece.html;
                    return { text: holder.content.textContent, count: holder.content.querySelectorAll("*").length };
                }),
            ),
        answers,
    );
}

/** Moves the part of every live page to seeded places, and compares each number with the native
    renderer's. */
async function walk(edition, names) {
    const page = await edition.context();
    const next = random(seed);
    const walks = [];
    const faults = [];
    for (const name of names) {
        await edition.open(page, name);
        const parts = await page.evaluate(() => [...document.querySelectorAll("#jw-which option")].map((o) => o.value));
        for (const of of parts.length > 0 ? parts : [undefined]) {
            if (of) {
                await page.selectOption("#jw-which", of);
            }
            for (let step = 0; step < Number(options.steps); step += 1) {
                const ohm = 10 ** (-2 + 7 * next());
                const angle = (next() - 0.5) * Math.PI;
                const sign = angle < 0 ? "-" : "+";
                const typed =
                    step === 0
                        ? `${ohm.toPrecision(4)}`
                        : `${(ohm * Math.cos(angle)).toPrecision(4)} ${sign} j${Math.abs(ohm * Math.sin(angle)).toPrecision(4)}`;
                await page.fill("#jw-part", typed);
                await page.press("#jw-part", "Enter");
                await settled(page);
                await page.waitForFunction(() => location.hash.startsWith("#bench="), null, { timeout: 5000 });
                await page.waitForTimeout(550);
                const hash = await page.evaluate(() => location.hash);
                const [fragment, rest] = hash.split("&of=");
                walks.push({ name, typed, of: rest, fragment, pieces: await shown(page) });
            }
        }
    }
    const expected = await native(page, walks);
    let compared = 0;
    walks.forEach(({ name, typed, of, pieces }, k) => {
        if (expected[k].length !== pieces.length) {
            faults.push(`${name}, ${of} at ${typed}: ${pieces.length} pieces, native ${expected[k].length}`);
        }
        pieces.forEach((piece, at) => {
            const wanted = expected[k][at];
            compared += 1;
            const wantedText = wanted?.refused === undefined ? wanted?.text : undefined;
            const isRefused = piece.text === "–" || piece.text.startsWith("For this part: ");
            if (wantedText === undefined ? !isRefused : wantedText !== piece.text) {
                const native = String(wantedText ?? wanted?.refused);
                let from = 0;
                while (from < native.length && native[from] === piece.text[from]) {
                    from += 1;
                }
                from = Math.max(0, from - 20);
                faults.push(
                    `${name}, ${of} at ${typed}: ${JSON.stringify(piece.source).slice(0, 90)} shows ` +
                        `"${piece.text.slice(from, from + 70)}", native "${native.slice(from, from + 70)}"`,
                );
            }
        });
    });
    faults.push(...edition.taken());
    await page.context().close();
    report(`${edition.name}: seed ${seed}, ${walks.length} parts on ${names.length} pages, ${compared} pieces as the native renderer`, faults);
}

/** Drags the ring with a mouse and with a finger, steps it with arrows, and holds the numbers
    against `jig read`. */
async function hands(edition) {
    // Only Chromium takes fingers from a check.
    for (const touch of isFirefox ? [false] : [false, true]) {
        const viewport = touch ? { width: 390, height: 844 } : { width: 1280, height: 900 };
        const page = await edition.context({ hasTouch: touch, viewport });
        const faults = [];
        await edition.open(page, "change/best.html");
        const before = await page.locator("main").innerText();
        const grip = page.locator('[data-grip="map"] .jw-grip');
        await grip.scrollIntoViewIfNeeded();
        const box = await grip.locator(".jw-touch").boundingBox();
        const from = [box.x + box.width / 2, box.y + box.height / 2];
        const to = [from[0] - 60, from[1] - 30];
        if (touch) {
            const cdp = await page.context().newCDPSession(page);
            const send = (type, points) =>
                cdp.send("Input.dispatchTouchEvent", { type, touchPoints: points.map(([x, y]) => ({ x, y })) });
            await send("touchStart", [from]);
            for (let k = 1; k <= 6; k += 1) {
                await send("touchMove", [[from[0] + ((to[0] - from[0]) * k) / 6, from[1] + ((to[1] - from[1]) * k) / 6]]);
            }
            await send("touchEnd", []);
        } else {
            await page.mouse.move(...from);
            await page.mouse.down();
            await page.mouse.move(...to, { steps: 6 });
            await page.mouse.up();
        }
        await settled(page);
        const after = await page.locator("main").innerText();
        if (before === after) {
            faults.push("dragging changes nothing");
        }
        await grip.focus();
        const stepped = await page.inputValue("#jw-part");
        const href = page.url().split("#")[0];
        for (const key of ["ArrowRight", "ArrowUp", "Shift+ArrowLeft", "s", "/"]) {
            await page.keyboard.press(key);
        }
        await settled(page);
        if ((await page.inputValue("#jw-part")) === stepped) {
            faults.push("arrows change nothing");
        }
        if (page.url().split("#")[0] !== href || (await page.locator("#mdbook-search-wrapper").isVisible())) {
            faults.push("a key of the ring turned the page or opened the search");
        }
        await page.waitForTimeout(700);
        faults.push(...(await asJig(page)));
        await page.click(".jw-back");
        await settled(page);
        const back = await page.locator("main").innerText();
        const without = (text) => text.replace(/^.*(The part is|Drag the ring).*$/gm, "");
        if (without(back) !== without(before)) {
            faults.push("\"As printed\" does not put back what was printed");
        }
        faults.push(...edition.taken());
        await page.context().close();
        report(`${edition.name}: ${touch ? "a finger" : "mouse and keys"}, numbers as jig read`, faults);
    }
}

/** What `jig read --json` has under a key of the page, and how far rounding may take it. */
function ofJig(jig, key, digits) {
    if (key === "best-for-value" || key === "best-for-change") {
        return jig[key.replaceAll("-", "_")];
    }
    const [name, what] = key.split(".");
    const entry = jig.fixtures.find((one) => one.fixture === name);
    if (!entry) {
        return undefined;
    }
    // Half a step of the last digit: of significant digits, but of decimals for levels and angles.
    const significant = (value, digits) => ({
        value,
        room: 0.5 * 10 ** (Math.floor(Math.log10(Math.abs(value))) + 1 - digits),
    });
    const decimals = (value) => ({ value, room: 0.5 * 10 ** -digits });
    // Of the rms uncertainty to 95 % in two dimensions: references §2, sqrt(-2·ln 0.05/2).
    const TO_95 = Math.sqrt(-Math.log(0.05));
    switch (what) {
        case "level":
            return decimals(entry.reading.db);
        case "angle":
            return decimals(entry.reading.deg);
        case "within":
            return significant(100 * TO_95 * entry.relative_u, 2);
        case "increase":
            return entry.resolvable_increase === null ? undefined : significant(100 * entry.resolvable_increase, 2);
        case "separation":
            return significant(entry.separation_sigma, 2);
        default:
            return undefined;
    }
}

/** Numbers of the page against those of the command, for the bench in the address. */
async function asJig(page) {
    const faults = [];
    const jig = JSON.parse(execFileSync(join(options.bin, "jig"), ["read", await benchFile(page), "--json"]));
    const pieces = await shown(page);
    let compared = 0;
    for (const { source, text } of pieces) {
        const [, , key, digits = "3"] = (source.value ?? "").split(" ");
        const wanted = ofJig(jig, key ?? "", Number(digits));
        if (wanted === undefined) {
            continue;
        }
        compared += 1;
        if (typeof wanted === "string") {
            if (text !== wanted) {
                faults.push(`${source.value}: the page says ${text}, jig read ${wanted}`);
            }
            continue;
        }
        const number = Number(text.replace(/\u2212/g, "-").replace(/[^0-9.eE+-]/g, ""));
        if (!(Math.abs(number - wanted.value) <= 1.0001 * wanted.room)) {
            faults.push(`${source.value}: the page says ${text}, jig read ${wanted.value}`);
        }
    }
    if (compared < 4) {
        faults.push(`only ${compared} numbers of the page are some of jig read`);
    }
    return faults;
}

/** Links that nobody should have made: a sentence, the page as it was built, and no hang. */
async function hostile(edition) {
    const page = await edition.context();
    const name = "change/clouds.html";
    const faults = [];
    await edition.open(page, name);
    const printed = await page.evaluate(() => [...document.querySelectorAll("main .jw-live")].map((e) => e.textContent).join("\n"));
    const next = random(seed + 1);
    const good = encodeURIComponent(
        'version = 1\nseed = 1\n[device]\nkind = "resistor"\nresistance = "4.7k"\n[at]\nfrequency = "7.1 MHz"\n[instrument]\npreset = "handheld"\n',
    );
    const pick = (list) => list[Math.floor(next() * list.length)];
    const kinds = [
        () => `#bench=1.${good.slice(0, Math.floor(next() * good.length))}`,
        () => `#bench=${Math.floor(next() * 1e6)}.${good}`,
        () => `#bench=1.${"%5B".repeat(Math.floor(next() * 1200))}`,
        () => `#bench=1.${good.replace("4.7k", pick(["1e400", "nan", "-1e308", "0", "%00", "%FF", "<script>alert(1)</script>", "9".repeat(900)]))}`,
        () => `#bench=1.${[...good].map((c) => (next() < 0.03 ? String.fromCharCode(33 + Math.floor(next() * 90)) : c)).join("")}`,
        () => `#bench=1.${"a%3D".repeat(Math.floor(next() * 2000))}`,
        () => `#bench=1.${good}%5Bsweep%5D%0Afrom=1%0Ato=2%0Apoints=${Math.floor(next() * 1e12)}`,
        () => `#bench=1.${good}&of=${pick(["__proto__", "nobody", "%00", "<b>", "constructor"])}`,
        () => `#bench=${pick(["", ".", "1", "1.", "1.%", "1.%2", "1.=", "one.x", "1..", "&of="])}`,
        () => `#bench=1.${good.replace("resistor", pick(["table", "crystal", "file", "inductor", "open"]))}`,
    ];
    let slowest = 0;
    for (let k = 0; k < Number(options.hostile); k += 1) {
        const hash = kinds[k % kinds.length]();
        const began = Date.now();
        const state = await page.evaluate(async (hash) => {
            history.replaceState(null, "", location.href.split("#")[0] + hash);
            dispatchEvent(new HashChangeEvent("hashchange"));
            await new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)));
            const moved = document.querySelector(".jw-bar").classList.contains("jw-moved");
            const text = [...document.querySelectorAll("main .jw-live")].map((e) => e.textContent).join("\n");
            const note = document.querySelector(".jw-note").textContent;
            const scripts = document.querySelectorAll("main script").length;
            if (moved) {
                document.querySelector(".jw-back").click();
            }
            return { moved, text, note, scripts };
        }, hash);
        slowest = Math.max(slowest, Date.now() - began);
        if (state.scripts > 0) {
            faults.push(`${hash.slice(0, 80)}: puts a script into the page`);
        }
        // A link that is a bench after all moves the part, and that is right.
        if (!state.moved && (state.text !== printed || !state.note.includes("as it is printed"))) {
            faults.push(`${hash.slice(0, 80)}: "${state.note.slice(0, 80)}", ${state.text === printed ? "as" : "not as"} built`);
        }
    }
    if (slowest > 2000) {
        faults.push(`the slowest took ${slowest} ms`);
    }
    // Opened anew with a damaged link.
    await edition.open(page, name, "#bench=1.%zz");
    const note = await page.locator(".jw-note").innerText();
    if (!note.includes("damaged")) {
        faults.push(`a damaged link is told as "${note}"`);
    }
    faults.push(...edition.taken());
    await page.context().close();
    report(`${edition.name}: ${options.hostile} hostile links, seed ${seed + 1}, the slowest ${slowest} ms`, faults);
}

/** A task is answered wrongly, then rightly, kept and erased; a formula is checked. */
async function tasks(edition) {
    const page = await edition.context();
    const faults = [];
    const open = async () => {
        await page.goto("about:blank");
        await page.goto(edition.url("reflect/tasks.html"));
        await page.waitForSelector(".jw-shelf", { timeout: 20000 });
    };
    const answer = async (text) => {
        await page.fill("#jw-answer-reflect-level", text);
        await page.press("#jw-answer-reflect-level", "Enter");
        return page.locator('[data-task="reflect-level"] .jw-told').innerText();
    };
    const lab = (text) => {
        try {
            return execFileSync(join(options.bin, "lab"), ["check", "reflect-level", text], { encoding: "utf8", stdio: "pipe" });
        } catch (failure) {
            return failure.stdout + failure.stderr.replace("lab: ", "");
        }
    };
    await open();
    for (const text of ["-6.15", "-12.3 dB", "12.3 dB", "banana", "1 MHz"]) {
        const told = await answer(text);
        if (told.trim() !== lab(text).trim()) {
            faults.push(`${text}: the page says "${told}", lab "${lab(text).trim()}"`);
        }
    }
    await answer("-12.3 dB");
    await open();
    if (!(await page.locator('[data-task="reflect-level"] .jw-told').innerText()).startsWith("Solved on")) {
        faults.push("what was solved is not kept");
    }
    const [file] = await Promise.all([page.waitForEvent("download"), page.click("text=Take along as a file")]);
    if (!readFileSync(await file.path(), "utf8").includes("reflect-level\t-12.3 dB")) {
        faults.push("the file lacks what was solved");
    }
    await page.click("text=Erase");
    await open();
    if ((await page.locator(".jw-shelf p").innerText()).includes("Solved: 0") === false) {
        faults.push("what was erased is still there");
    }
    faults.push(...(await inspect(page)), ...edition.taken());
    await page.context().close();
    report(`${edition.name}: tasks as lab check`, faults);
}

/** The answer on the front page: a ring that is dragged, and five calibrations. */
async function front(edition) {
    const page = await edition.context({ viewport: { width: 390, height: 844 }, hasTouch: true });
    const faults = [];
    await edition.open(page, "question.html");
    const line = () => page.locator(".jw-line").innerText();
    const before = await line();
    for (let k = 1; k <= 5; k += 1) {
        await page.click(".jw-again");
        await settled(page);
        const counts = await page.locator('[data-grip="answer-rule"] text').allTextContents();
        if (counts.filter((text) => text.endsWith(` of ${k}`)).length !== 3) {
            faults.push(`after ${k} calibrations the rule says ${counts.join(", ")}`);
        }
    }
    const grip = page.locator('[data-grip="answer-rule"] .jw-grip');
    await grip.focus();
    for (let k = 0; k < 50; k += 1) {
        await page.keyboard.press("ArrowLeft");
    }
    await settled(page);
    if ((await line()) === before) {
        faults.push("another part has the same answer");
    }
    const told = JSON.parse(
        execFileSync(join(options.bin, "jig"), ["read", "--json", await benchFile(page)]),
    );
    if (!(await line()).toLowerCase().startsWith(told.best_for_value)) {
        faults.push(`the answer is "${await line()}", jig read says ${told.best_for_value}`);
    }
    faults.push(...(await inspect(page)), ...edition.taken());
    await page.context().close();
    report(`${edition.name}: the answer on the front page`, faults);
}

/** The bench of the address, as a file. */
async function benchFile(page) {
    await page.waitForTimeout(700);
    const hash = await page.evaluate(() => location.hash);
    const fragment = hash.slice("#bench=1.".length).split("&")[0];
    const file = join(scratch, "bench.toml");
    writeFileSync(file, decodeURIComponent(fragment));
    return file;
}

const MEASUREMENTS = fileURLToPath(new URL("../../exercises/measurements/choke/", import.meta.url));
const OWN = ["choke.s2p", "cal.toml", "choke-empty.s2p", "choke-open.s1p", "choke-open-2.s1p", "choke-short.s1p",
    "choke-short-2.s1p", "choke-load.s1p", "choke-load-2.s1p", "choke-through.s2p", "choke-isolation.s2p"];

/** Where two answers differ, or nothing. The sines of a browser's module and of this machine differ
    in their last digits, so numbers may by a part in 10⁹. */
function difference(a, b, at = "") {
    if (typeof a === "number" && typeof b === "number") {
        return Math.abs(a - b) <= 1e-9 * Math.abs(b) ? undefined : `${at}: ${a}, jig ${b}`;
    }
    if (a === null || b === null || typeof a !== "object" || typeof b !== "object") {
        return a === b ? undefined : `${at}: ${a}, jig ${b}`;
    }
    const keys = [...new Set([...Object.keys(a), ...Object.keys(b)])];
    return keys.map((key) => difference(a[key], b[key], `${at}/${key}`)).find(Boolean);
}

/** The shipped measurement reduced in the page, as `jig reduce --json`; odd files get a sentence;
    100 000 points are timed. */
async function sweeps(edition) {
    const page = await edition.context();
    const faults = [];
    const reduced = async (button) => {
        await page.click(button);
        await page.waitForFunction(() => !document.querySelector(".jw-told").textContent.startsWith("Reducing"), null, { timeout: 60000 });
        return page.evaluate(() => ({ ms: window.jigwise.sweeps.reduceMs, told: document.querySelector(".jw-told").textContent, out: window.jigwise.sweeps.said?.out }));
    };
    const open = async () => {
        await page.goto("about:blank");
        await page.goto(edition.url("own.html"));
        await page.waitForSelector("#jw-files", { timeout: 20000 });
    };
    await open();
    await page.setInputFiles("#jw-files", OWN.map((name) => join(MEASUREMENTS, name)));
    await page.waitForSelector(".jw-files li");
    await page.selectOption("#jw-instrument", "club-bench");
    const own = await reduced("main button:text-is(\"Numbers as JSON\")");
    const wanted = execFileSync(
        join(options.bin, "jig"),
        ["reduce", "--fixture", "series-through", "--blank", "choke-empty.s2p", "--calibration", "cal.toml",
            "--instrument", "club-bench", "--json", "choke.s2p"],
        { cwd: MEASUREMENTS, encoding: "utf8", maxBuffer: 1 << 28, stdio: "pipe" },
    );
    const other = difference(JSON.parse(own.out ?? "null"), JSON.parse(wanted));
    if (other) {
        faults.push(`the numbers are not those of jig reduce: ${other}; "${own.told.slice(0, 200)}"`);
    }
    const results = await page.locator(".jw-downloads a").allInnerTexts();
    for (const name of ["report.html", "points.csv", "impedance.s1p", "points.json"]) {
        if (!results.includes(name)) {
            faults.push(`${name} is not among ${results.join(", ")}`);
        }
    }
    faults.push(...(await inspect(page)));
    for (const name of readdirSync(join(MEASUREMENTS, "odd"))) {
        await open();
        await page.setInputFiles("#jw-files", join(MEASUREMENTS, "odd", name));
        await page.waitForSelector(".jw-files li");
        const { told } = await reduced("main button:text-is(\"Reduce\")");
        if (told.length < 12 || told.includes("can't go on")) {
            faults.push(`${name}: "${told}"`);
        }
    }
    const many = ["# HZ S RI R 50"];
    for (let k = 0; k < 100000; k += 1) {
        const s = 0.2 + 1e-6 * k;
        many.push(`${1e6 + 1e3 * k} 0.1 0.02 ${s} -0.3 ${s} -0.3 0.1 0.02`);
    }
    const file = join(scratch, "many.s2p");
    writeFileSync(file, many.join("\n"));
    await open();
    await page.setInputFiles("#jw-files", file);
    await page.waitForSelector(".jw-files li");
    await page.selectOption("#jw-instrument", "club-bench");
    await page.evaluate(() => {
        window.beats = [];
        let last = performance.now();
        setInterval(() => {
            window.beats.push(performance.now() - last);
            last = performance.now();
        }, 20);
    });
    const { ms, told } = await reduced("main button:text-is(\"Reduce\")");
    const beats = await page.evaluate(() => window.beats);
    if (!told.startsWith("Reduced.")) {
        faults.push(`100 000 points: "${told}"`);
    }
    console.log(`     ${edition.name}: 100 000 points in ${(ms / 1000).toFixed(2)} s; the page beat ${beats.length} times, the longest pause ${Math.max(...beats).toFixed(0)} ms`);
    faults.push(...edition.taken());
    await page.context().close();
    report(`${edition.name}: own sweeps as jig reduce`, faults);
}

/** axe-core on every live page with its part moved, at desk width, and on some at phone width. */
async function accessible(edition, names) {
    const faults = [];
    for (const viewport of [{ width: 1280, height: 900 }, { width: 390, height: 844 }]) {
        const page = await edition.context({ viewport, reducedMotion: "reduce" });
        for (const name of names) {
            await edition.open(page, name);
            await page.fill("#jw-part", "220 - j30");
            await page.press("#jw-part", "Enter");
            await settled(page);
            // A phone has the same elements in another order of the same colours: a few pages show it.
            const isLookedAt = viewport.width > 600 || names.indexOf(name) % 6 === 0;
            const found = [...(isLookedAt ? await inspect(page) : []), ...(await tooWide(page))];
            faults.push(...found.map((fault) => `${name}: ${fault}`));
        }
        faults.push(...edition.taken());
        await page.context().close();
    }
    report(`${edition.name}: axe-core on ${names.length} live pages, desk and phone`, faults);
}

/** How long a page takes to live, and an update of the longest page; printed, not judged. */
async function timings(edition, names) {
    const page = await edition.context();
    const ready = [];
    let longest = { ms: 0 };
    for (const name of names) {
        await edition.open(page, name);
        ready.push(await page.evaluate(() => window.jigwise.live.readyMs));
        const times = [];
        await page.focus("#jw-size");
        for (let k = 0; k < 24; k += 1) {
            await page.keyboard.press(k < 12 ? "ArrowLeft" : "ArrowRight");
            await settled(page);
            times.push(await page.evaluate(() => window.jigwise.live.updateMs));
        }
        times.sort((a, b) => a - b);
        const p95 = times[Math.floor(0.95 * times.length)];
        if (p95 > longest.ms) {
            longest = { ms: p95, name, median: times[Math.floor(times.length / 2)] };
        }
    }
    ready.sort((a, b) => a - b);
    edition.taken();
    await page.context().close();
    console.log(
        `     ${edition.name}: ready after ${ready[Math.floor(ready.length / 2)].toFixed(0)} ms (median), ` +
            `${ready[ready.length - 1].toFixed(0)} ms at most; the longest update is that of ${longest.name}: ` +
            `${longest.median?.toFixed(1)} ms median, ${longest.ms.toFixed(1)} ms p95`,
    );
}

function sizes() {
    const served = readFileSync(join(options.served, "theme/live.wasm"));
    const stick = statSync(join(options.stick, "theme/live-bytes.js")).size;
    console.log(
        `     module: ${served.length} bytes, ${gzipSync(served, { level: 9 }).length} gzip, ` +
            `${brotliCompressSync(served).length} brotli; ${stick} as text on the stick`,
    );
}

const browser = await launch();
const server = await serve(options.served);
const editions = [
    new Edition(browser, "served", `http://127.0.0.1:${server.address().port}/`),
    new Edition(browser, "from a file path", `${pathToFileURL(options.stick).href}/`),
];
const names = livePages(options.served);
sizes();
const CHECKS = { walk, hands, front, hostile, tasks, sweeps, accessible, timings };
for (const edition of editions) {
    for (const name of options.checks.split(",")) {
        // The stick holds the same pages and the same module: what takes long has been seen served.
        if (edition === editions[0] || !["walk", "accessible", "timings"].includes(name)) {
            await CHECKS[name](edition, names);
        }
    }
}
await browser.close();
server.close();
rmSync(scratch, { recursive: true });
console.log(`${names.length} live pages, ${failed} faults`);
process.exit(failed === 0 ? 0 : 1);
