// The simulator's page in a browser, served and from a file path: it loads, dragging changes what
// it says, what it says equals `jig read`, Tab enters and leaves, damaged links cost nothing, links
// begin the modes that teach, and nothing is asked of the network.
//
//   node simulator.js --book FOLDER --stick FOLDER --jig COMMAND [--minutes N] [--shots FOLDER]
//
// FOLDERs are built with --with-simulator, the second with --stick too. --minutes drags for so
// long and watches the memory. BROWSER=firefox takes Firefox, on a display. CHROMIUM or FIREFOX
// names the program, Debian's if nothing is said. Ends with 1 where something is wrong.

import { execFileSync } from "node:child_process";
import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { pathToFileURL } from "node:url";
import { parseArgs } from "node:util";
import { isFirefox, launch, random as generator, serve, violations } from "./common.js";

const { values: options } = parseArgs({
    options: {
        book: { type: "string" },
        stick: { type: "string" },
        jig: { type: "string" },
        minutes: { type: "string", default: "0" },
        shots: { type: "string" },
    },
});
for (const name of ["book", "stick", "jig"]) {
    if (!options[name]) {
        console.error(`simulator.js: --${name} is missing`);
        process.exit(2);
    }
}
const SEED = 20261130;
const scratch = mkdtempSync(join(tmpdir(), "jigwise-simulator-"));
const faults = [];

function fault(text) {
    faults.push(text);
    console.log(`  FAULT ${text}`);
}

async function open(browser, address, view) {
    const context = await browser.newContext({
        viewport: view.viewport,
        hasTouch: view.touch ?? false,
        reducedMotion: "reduce",
    });
    const allowed = new URL(address);
    await context.route("**/*", (route) => {
        const url = new URL(route.request().url());
        const inside =
            url.protocol === "blob:" ||
            url.protocol === "data:" ||
            (url.protocol === allowed.protocol && url.host === allowed.host);
        if (inside) {
            return route.continue();
        }
        fault(`${view.name}: asks for ${url}`);
        return route.abort();
    });
    const page = await context.newPage();
    page.on("console", (message) => {
        if (["error", "warning"].includes(message.type()) && !isOfDriver(message.text())) {
            fault(`${view.name}: console: ${message.text()}`);
        }
    });
    page.on("pageerror", (error) => fault(`${view.name}: ${error}`));
    const began = Date.now();
    await page.goto(address);
    await page.waitForSelector("html[data-ready=yes]", { timeout: 120000 });
    console.log(`  ${view.name}: ready after ${((Date.now() - began) / 1000).toFixed(2)} s`);
    return page;
}

// What software rendering says of itself.
function isOfDriver(text) {
    return /GPU stall|GL Driver Message|software WebGL|swiftshader/i.test(text);
}

const exports = (page, name, ...given) =>
    page.evaluate(
        async ([name, given]) => {
            const bound = await window.jigwise.simulator.load();
            const answer = bound[name](...given);
            return answer === undefined ? null : answer;
        },
        [name, given],
    );

const said = (page) => page.locator("#said p").allTextContents();

// Waits until what is said has come to rest.
async function rest(page) {
    let last = "";
    for (let k = 0; k < 60; k += 1) {
        await page.waitForTimeout(250);
        const now = (await said(page)).join("\n");
        if (now === last && k > 3) {
            return;
        }
        last = now;
    }
}

const number = (text) => Number(text.replace("−", "-").replace(/[\s\u202f]/g, ""));

// What stands beside the canvas against what the text command reads of the same bench.
async function compare(page, name) {
    await rest(page);
    const file = join(scratch, "bench.toml");
    writeFileSync(file, await exports(page, "page_scenario"));
    const read = JSON.parse(
        execFileSync(options.jig, ["read", file, "--json"], { encoding: "utf8" }),
    );
    const fixtures = read.fixtures ?? read.readout?.fixtures;
    const lines = await said(page);
    let compared = 0;
    for (const entry of fixtures) {
        const title = entry.fixture[0].toUpperCase() + entry.fixture.slice(1);
        const line = lines.find((text) => text.startsWith(`${title}: `)) ?? "";
        const shown = /Reading (\S+)\u202fdB, (\S+)°/.exec(line);
        if (!shown || entry.reading === null) {
            continue;
        }
        for (const [text, value] of [
            [shown[1], entry.reading.db],
            [shown[2], entry.reading.deg],
        ]) {
            const decimals = (text.split(".")[1] ?? "").length;
            if (!(Math.abs(number(text) - value) <= 0.5001 * 10 ** -decimals)) {
                fault(`${name}: ${title} says ${text}, jig read ${value}`);
            }
            compared += 1;
        }
    }
    if (compared < 4) {
        fault(`${name}: only ${compared} readings to compare in ${JSON.stringify(lines)}`);
    }
    return compared;
}

async function drag(page, view) {
    const box = await page.locator("#jigwise").boundingBox();
    // The hairline's knob is low in the canvas; the lanes' height is enough to take hold of it.
    const y = box.y + box.height * (view.touch ? 0.8 : 0.75);
    const before = (await said(page)).join("\n");
    await exports(page, "page_frames_ms");
    if (view.touch) {
        const client = await page.context().newCDPSession(page);
        const touch = (type, x) =>
            client.send("Input.dispatchTouchEvent", {
                type,
                touchPoints: type === "touchEnd" ? [] : [{ x, y }],
            });
        await touch("touchStart", box.x + box.width * 0.6);
        for (let k = 0; k < 20; k += 1) {
            await touch("touchMove", box.x + box.width * (0.6 - 0.02 * k));
        }
        await touch("touchEnd");
    } else {
        await page.mouse.move(box.x + box.width * 0.7, y);
        await page.mouse.down();
        // There, and back over what the browser has compiled by then.
        for (const way of ["first drag", "the same way back"]) {
            for (let k = 0; k < 60; k += 1) {
                const step = way === "first drag" ? k : 60 - k;
                await page.mouse.move(box.x + box.width * (0.7 - 0.006 * step), y);
                await page.waitForTimeout(16);
            }
            tellFrames(`${view.name}, ${way}`, await exports(page, "page_frames_ms"));
        }
        await page.mouse.move(box.x + box.width * 0.35, y);
        await page.mouse.up();
    }
    await rest(page);
    if ((await said(page)).join("\n") === before) {
        fault(`${view.name}: dragging changes nothing`);
    }
    if (view.touch) {
        tellFrames(view.name, await exports(page, "page_frames_ms"));
    }
}

function tellFrames(name, frames) {
    frames.sort((a, b) => a - b);
    const part = (share) => frames[Math.min(frames.length - 1, Math.floor(share * frames.length))];
    console.log(
        `  ${name}: ${frames.length} frames, median ${part(0.5)?.toFixed(2)} ms, ` +
            `p95 ${part(0.95)?.toFixed(2)} ms without the renderer`,
    );
}

async function tabs(page, name) {
    await page.locator("#full-screen").focus();
    await page.keyboard.press("Tab");
    const inside = () => page.evaluate(() => document.activeElement.id);
    if ((await inside()) !== "jigwise") {
        fault(`${name}: Tab goes from the header to ${await inside()}`);
    }
    let presses = 0;
    await exports(page, "page_frames_ms");
    while ((await inside()) === "jigwise" && presses < 60) {
        await page.keyboard.press("Tab");
        // A frame takes one press; where frames are slow, several presses would be one.
        let frames = 0;
        for (let k = 0; k < 50 && frames < 2; k += 1) {
            await page.waitForTimeout(40);
            frames += (await exports(page, "page_frames_ms")).length;
        }
        presses += 1;
    }
    if ((await inside()) !== "type-part") {
        fault(`${name}: after ${presses} presses Tab is on ${await inside()}`);
    }
    console.log(`  ${name}: Tab leaves the canvas after ${presses} presses`);
}

async function form(page, name) {
    const shows = (place, wanted) =>
        page
            .waitForFunction(
                ([place, wanted]) => document.querySelector(place).textContent.includes(wanted),
                [place, wanted],
                { timeout: 10000 },
            )
            .catch(async () => fault(`${name}: ${place} lacks "${wanted}": ${await page.locator(place).textContent()}`));
    await page.fill("#type-part", "330 - j120");
    await page.click("#bench-form button[type=submit]");
    await shows("#said", "330.0 − j120.0");
    await page.fill("#type-part", "nothing");
    await page.click("#bench-form button[type=submit]");
    await shows("#complaint", "nothing");
    await page.fill("#type-part", "4.7k");
    await page.click("#bench-form button[type=submit]");
    await rest(page);
}

// Links as nobody makes them on purpose.
function hostile(random, good) {
    const letters = "abcXYZ019.%&=[]#\"'\n\\\u202f\u0000é日𝛀-_~+ ";
    const noise = (count) =>
        Array.from({ length: count }, () =>
            [...letters][Math.floor(random() * [...letters].length)],
        ).join("");
    switch (Math.floor(random() * 6)) {
        case 0:
            return `bench=${noise(Math.floor(random() * 300))}`;
        case 1:
            return `bench=1.${noise(Math.floor(random() * 300))}`;
        case 2:
            return good.slice(0, Math.floor(random() * good.length));
        case 3: {
            const at = Math.floor(random() * good.length);
            return good.slice(0, at) + noise(1 + Math.floor(random() * 4)) + good.slice(at + 1);
        }
        case 4:
            return `bench=${Math.floor(random() * 1e9)}.${good.slice(8)}`;
        default:
            return `bench=1.${encodeURIComponent("a".repeat(Math.floor(random() * 20000)))}`;
    }
}

async function links(page, address, name) {
    const random = generator(SEED);
    const good = await exports(page, "page_link");
    const all = Array.from({ length: 1000 }, () => hostile(random, good));
    const began = Date.now();
    const answers = await page.evaluate(async (all) => {
        const bound = await window.jigwise.simulator.load();
        return all.map((link) => bound.page_open_link(link) ?? null);
    }, all);
    const refused = answers.filter((answer) => answer !== null);
    const bad = refused.filter((answer) => answer.length < 10 || answer.length > 600);
    if (bad.length > 0) {
        fault(`${name}: a damaged link is answered by "${bad[0].slice(0, 200)}"`);
    }
    if (refused.length < 900) {
        fault(`${name}: only ${refused.length} of 1000 damaged links are refused`);
    }
    console.log(
        `  ${name}: 1000 damaged links (seed ${SEED}), ${refused.length} refused, ` +
            `${Date.now() - began} ms`,
    );
    for (const link of all.slice(0, 5)) {
        await page.goto(`about:blank`);
        await page.goto(`${address}#${link}`);
        await page.waitForSelector("html[data-ready=yes]", { timeout: 60000 });
    }
    await page.goto("about:blank");
    await page.goto(`${address}#${good}`);
    await page.waitForSelector("html[data-ready=yes]", { timeout: 60000 });
    await rest(page);
}

// The modes that teach, by their links: a talk forth and back by its keys, a round, a prediction.
async function modes(page, address, name) {
    const follow = async (link) => {
        await page.goto("about:blank");
        await page.goto(`${address}#${link}`);
        await page.waitForSelector("html[data-ready=yes]", { timeout: 60000 });
    };
    const hears = (place, wanted) =>
        page
            .waitForFunction(
                ([place, wanted]) => document.querySelector(place).textContent.includes(wanted),
                [place, wanted],
                { timeout: 10000 },
            )
            .then(() => true, () => false);
    const expect = async (link, place, wanted) => {
        if (!(await hears(place, wanted))) {
            fault(`${name}: ${link}: ${place} lacks "${wanted}": ${await page.locator(place).textContent()}`);
        }
    };
    for (const [talk, stops] of [["short", 5], ["club", 13]]) {
        await follow(`talk=${talk}`);
        await expect(`talk=${talk}`, "#said", `Stop 1 of ${stops}.`);
        await page.locator("#jigwise").focus();
        for (const [key, stop] of [["PageDown", stops], ["PageUp", 1]]) {
            const last = `Stop ${stop} of ${stops}.`;
            // What is covered at a stop takes a press of its own.
            for (let k = 0; k < 4 * stops && !(await page.locator("#said").textContent()).includes(last); k += 1) {
                await page.keyboard.press(key);
                await page.waitForTimeout(900);
            }
            await expect(`talk=${talk}, ${key}`, "#said", last);
        }
    }
    for (const [sort, about] of [
        ["resistor", "A resistor without a label. The fixtures are ideal"],
        ["capacitor", "A capacitor without a label"],
        ["coil", "A coil without a label"],
        ["borrowed", "Somebody else calibrated the analyzer"],
        ["crystal", "A crystal in fixtures with strays"],
    ]) {
        await follow(`round=${sort}`);
        await expect(`round=${sort}`, "#said", about);
    }
    await follow("predict=best-fixture");
    await rest(page);
    if ((await page.locator("#said").textContent()).includes("knows this part")) {
        fault(`${name}: what is to be predicted is said beside the canvas`);
    }
    await follow("round=22222-22223");
    await expect("a code with a typo", "#notice", "compare it");
    await expect("a code with a typo", "#said", "knows this part");
}

async function accessible(page, name) {
    for (const violation of await violations(page)) {
        fault(`${name}: axe: ${violation}`);
    }
}

async function memory(page, minutes) {
    const box = await page.locator("#jigwise").boundingBox();
    const bytes = async () => {
        await page.requestGC?.();
        const heap = await page.evaluate(() => performance.memory?.usedJSHeapSize ?? 0);
        return heap + (await exports(page, "page_memory_bytes"));
    };
    const mib = (value) => (value / 1048576).toFixed(0);
    const y = box.y + 0.75 * box.height;
    const until = Date.now() + 60000 * minutes;
    const early = [];
    let k = 0;
    await page.mouse.move(box.x + 0.5 * box.width, y);
    await page.mouse.down();
    while (Date.now() < until) {
        k += 1;
        await page.mouse.move(box.x + box.width * (0.5 + 0.35 * Math.sin(0.05 * k)), y);
        await page.waitForTimeout(16);
        if (k % 1000 === 0) {
            early.push(await bytes());
        }
    }
    await page.mouse.up();
    const last = await bytes();
    const first = early[0] ?? last;
    console.log(`  memory: ${mib(first)} MiB after the first thousand moves, ${mib(last)} at the end`);
    if (last > 250 * 1048576) {
        fault(`memory: ${mib(last)} MiB`);
    }
    if (last > 1.1 * first + 4 * 1048576) {
        fault(`memory grows from ${mib(first)} to ${mib(last)} MiB`);
    }
}

async function tried(browser, address, view) {
    const page = await open(browser, address, view);
    await compare(page, view.name);
    await drag(page, view);
    await compare(page, view.name);
    if (options.shots) {
        mkdirSync(options.shots, { recursive: true });
        const name = view.name.replaceAll(" ", "-");
        await page.screenshot({ path: join(options.shots, `${name}.png`) });
    }
    if (!view.touch) {
        await tabs(page, view.name);
        await form(page, view.name);
    }
    await accessible(page, view.name);
    if (view.links) {
        await links(page, address, view.name);
        await compare(page, view.name);
        await modes(page, address, view.name);
    }
    if (Number(options.minutes) > 0 && view.links) {
        await memory(page, Number(options.minutes));
    }
    await page.context().close();
}

const browser = await launch({ draws: true });
const server = await serve(options.book);
try {
    const served = `http://127.0.0.1:${server.address().port}/simulator/index.html`;
    const file = pathToFileURL(resolve(options.stick, "simulator/index.html")).href;
    const DESK = { width: 1280, height: 768 };
    const PHONE = { width: 400, height: 850 };
    await tried(browser, file, { name: "stick desk", viewport: DESK, links: true });
    await tried(browser, served, { name: "served desk", viewport: DESK });
    // Only Chromium takes fingers from a check.
    if (!isFirefox) {
        await tried(browser, file, { name: "stick phone", viewport: PHONE, touch: true });
    }
} finally {
    await browser.close();
    server.close();
    rmSync(scratch, { recursive: true, force: true });
}
if (faults.length > 0) {
    console.error(`${faults.length} faults`);
    process.exit(1);
}
console.log("the simulator's page: no faults");
