// The teacher's page and the form of a tray in Chromium, served on loopback and opened from a file
// path: trays made there are byte for byte those of `lab tray`, grades those of `lab grade`, and a
// form that `answers.html` saved is graded. Then bad input, dropped files, keyboard, accessibility.
//
//   node desk.js --served FOLDER --stick FOLDER --bin FOLDER [--seed HEXADECIMAL]
//
// FOLDER of --bin holds the program `lab`. Archives are unpacked by Python. Ends with 1 where
// something fails.

import { execFileSync } from "node:child_process";
import { cpSync, mkdirSync, mkdtempSync, readFileSync, readdirSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, relative } from "node:path";
import { pathToFileURL } from "node:url";
import { parseArgs } from "node:util";
import { files, launch, report as show, serve, tooWide, violations } from "./common.js";

const { values: options } = parseArgs({
    options: {
        served: { type: "string" },
        stick: { type: "string" },
        bin: { type: "string" },
        seed: { type: "string", default: "5f3a91c07be2d4486a1f0c9d2e7b8354" },
    },
});
const GROUPS = 24;
const PAGE = "labs/desk.html";
const scratch = mkdtempSync(join(tmpdir(), "jigwise-desk-"));

/** Every difference between two folders. */
function differences(one, other) {
    const names = (folder) => files(folder).map((path) => relative(folder, path)).sort();
    const all = [...new Set([...names(one), ...names(other)])];
    return all.flatMap((name) => {
        try {
            return readFileSync(join(one, name)).equals(readFileSync(join(other, name))) ? [] : [`${name} differs`];
        } catch {
            return [`${name} is in one of them only`];
        }
    });
}

let failed = 0;
function report(name, faults) {
    failed += show(name, faults);
}

function lab(...words) {
    try {
        return execFileSync(join(options.bin, "lab"), words, { encoding: "utf8", stdio: "pipe" });
    } catch (failure) {
        throw new Error(`lab ${words.join(" ")}: ${failure.stderr}`);
    }
}

function unpack(zip, folder) {
    mkdirSync(folder, { recursive: true });
    execFileSync("python3", ["-m", "zipfile", "-e", zip, folder]);
}

async function inspect(page) {
    return [...(await violations(page)), ...(await tooWide(page))];
}

/** A browser on one edition; what goes wrong on any page is kept in `faults`. */
async function opened(browser, edition, more = {}) {
    const context = await browser.newContext({ viewport: { width: 1280, height: 900 }, acceptDownloads: true, ...more });
    await context.route("**/*", (route) => {
        const url = route.request().url();
        if (url.startsWith(edition.origin) || /^(data|blob):/.test(url) || url.startsWith(pathToFileURL(scratch).href)) {
            return route.continue();
        }
        edition.faults.push(`asks for ${url}`);
        return route.abort();
    });
    const page = await context.newPage();
    page.on("pageerror", (error) => edition.faults.push(`script: ${error.message}`));
    page.on("console", (message) => {
        if (["error", "warning"].includes(message.type())) {
            edition.faults.push(`console: ${message.text()}`);
        }
    });
    return page;
}

async function openDesk(page, edition) {
    await page.goto(new URL(PAGE, edition.origin).href);
    await page.waitForSelector("#jw-lab");
}

const section = (name) => `section[data-desk="${name}"]`;

/** What the last line of a section says, once it is no longer at work. */
async function told(page, name) {
    await page.waitForFunction(
        (name) => {
            const lines = [...document.querySelectorAll(`${name} .jw-told`)];
            const last = lines.filter((line) => line.textContent !== "");
            return last.length > 0 && last.every((line) => !line.textContent.endsWith("…"));
        },
        section(name),
        { timeout: 120000 },
    );
    return (await page.locator(`${section(name)} .jw-told`).allInnerTexts()).filter(Boolean);
}

async function saved(page, words, path) {
    const [download] = await Promise.all([page.waitForEvent("download"), page.click(`text=${words}`)]);
    await download.saveAs(path);
    return download.suggestedFilename();
}

/** Trays made with the keyboard alone, against those of the command. */
async function makes(browser, edition, place) {
    const faults = [];
    const page = await opened(browser, edition);
    await openDesk(page, edition);
    await page.focus("#jw-lab");
    await page.keyboard.type("Six");
    await page.keyboard.press("Tab");
    await page.keyboard.press("Control+a");
    await page.keyboard.type(String(GROUPS));
    await page.focus(`${section("trays")} summary`);
    await page.keyboard.press("Enter");
    await page.keyboard.press("Tab");
    await page.keyboard.type(options.seed);
    await page.focus("#jw-groups");
    const began = performance.now();
    await page.keyboard.press("Enter");
    const said = (await told(page, "trays")).join(" ");
    const seconds = (performance.now() - began) / 1000;
    if (!said.startsWith(`${GROUPS} trays of "Six parts from the junk box", code `)) {
        faults.push(`it says "${said}"`);
    }
    if (!(await page.evaluate(() => document.activeElement.textContent)).startsWith("Save trays-")) {
        faults.push("the first file to save has not got the focus");
    }
    const code = /code ([\w-]+)/.exec(said)?.[1];
    for (const name of ["trays", "teacher"]) {
        const zip = join(place, `${name}.zip`);
        const suggested = await saved(page, `Save ${name}-`, zip);
        if (suggested !== `${name}-${code}.zip`) {
            faults.push(`the browser saves ${suggested}`);
        }
        unpack(zip, join(place, "unpacked"));
    }
    if (execFileSync("python3", ["-m", "zipfile", "-l", join(place, "trays.zip")], { encoding: "utf8" }).includes("key.")) {
        faults.push("what is handed out holds the key");
    }
    lab("tray", "--lab", "junk-box", "--class", String(GROUPS), "--seed", options.seed, "--out", join(place, "trays"));
    faults.push(...differences(join(place, "unpacked"), join(place, "trays")));
    faults.push(...(await inspect(page)), ...edition.faults.splice(0));
    await page.context().close();
    report(`${edition.name}: ${GROUPS} trays as lab tray, in ${seconds.toFixed(1)} s, by the keyboard`, faults);
}

/** What the key says of a group: each question with its answer, an option by its letter. */
function rightAnswers(key, group) {
    const line = new RegExp(`number = ${group}\nanswers = "(.*)"`).exec(key)[1];
    return line.split("; ").map((text) => {
        const [, name, answer] = /^(\w+) (.*)$/.exec(text);
        return [name, answer.replace(/ \(.*\)$/, "")];
    });
}

/** A page of a tray filled in and saved, with a quote and a backslash among the names. */
async function fillsForm(browser, edition, place, forms) {
    const faults = [];
    const page = await opened(browser, edition);
    const key = readFileSync(join(place, "trays/teacher/key.toml"), "utf8");
    await page.goto(pathToFileURL(join(place, "trays/group-07/answers.html")).href);
    await page.fill("#names", 'Ada "the first" \\ Grace, =1+1');
    const answers = rightAnswers(key, 7);
    for (const [name, answer] of answers.slice(0, -1)) {
        await page.fill(`#${name}`, answer);
    }
    await page.click("#show");
    const shown = await page.inputValue("#text");
    const suggested = await saved(page, "Save answers-", join(forms, "seven.toml"));
    const said = await page.innerText("#said");
    if (suggested !== "answers-group-07.toml" || !said.includes(`Left blank: ${answers.at(-1)[0]}.`)) {
        faults.push(`saved ${suggested}, and the page says "${said}"`);
    }
    const text = readFileSync(join(forms, "seven.toml"), "utf8");
    const untimed = (text) => text.replace(/handed_in = .*/, "");
    if (untimed(text) !== untimed(shown)) {
        faults.push("the text shown is not the text saved");
    }
    faults.push(...(await inspect(page)), ...edition.faults.splice(0));
    await page.context().close();
    report(`${edition.name}: a tray's answers.html saves a form`, faults);
}

/** Forms of a class, good and bad. */
function handIn(place, forms) {
    const key = readFileSync(join(place, "trays/teacher/key.toml"), "utf8");
    const folder = (group) => `group-${String(group).padStart(2, "0")}`;
    const blank = (group) => readFileSync(join(place, `trays/${folder(group)}/answers-${folder(group)}.toml`), "utf8");
    const filled = (group, change = (answer) => answer) =>
        rightAnswers(key, group).reduce(
            (text, [name, answer], at) => text.replace(`${name} = ""`, `${name} = "${change(answer, at)}"`),
            blank(group),
        );
    const timed = (text, time) => text.replace('handed_in = ""', `handed_in = "${time}"`);
    const put = (name, bytes) => {
        mkdirSync(join(forms, name, ".."), { recursive: true });
        writeFileSync(join(forms, name), bytes);
    };
    put("1.toml", timed(filled(1), "2026-11-30T12:00"));
    put("deep/er/2.txt", timed(filled(2, (answer) => answer.replace("±", "± 9")), "2026-11-30T12:50"));
    put("3.toml", filled(3, (answer) => answer.replace(/ ±.*/, "")));
    put("three again.toml", filled(3));
    put("utf-16.toml", Buffer.concat([Buffer.from([0xff, 0xfe]), Buffer.from(filled(4), "utf16le")]));
    put("latin.toml", Buffer.from(`# M\u00fcller\n${filled(5)}`, "latin1"));
    put("large.toml", Buffer.alloc(10e6, "#"));
    put("other trays.toml", filled(6).replace(/tray = ".*"/, 'tray = "ABCD-EFGH"'));
    put("other version.toml", filled(6).replace("version = 1", "version = 9"));
    put("cut.toml", filled(8).slice(0, -40));
    put("group-09/answers.toml", blank(9));
    put("group-09/sheet.html", "half copied");
    put("no group.toml", filled(10).replace("group = 10", "group = 99"));
    put("empty.toml", "");
    put(".hidden.toml", filled(11));
    put("notes.pdf", "no form");
    cpSync(join(place, "trays/teacher"), join(forms, "teacher"), { recursive: true });
}

/** The forms graded on the page, against the command. */
async function grades(browser, edition, place, forms) {
    const faults = [];
    const DUE = "2026-11-30T12:45";
    lab("grade", join(place, "trays"), "--answers", forms, "--out", join(place, "grades.csv"), "--due", DUE);
    const page = await opened(browser, edition);
    await openDesk(page, edition);
    await page.setInputFiles("#jw-key", join(place, "teacher.zip"));
    const key = (await told(page, "grades")).join(" ");
    if (!key.startsWith(`The key to ${GROUPS} trays of "Six parts`)) {
        faults.push(`of the key it says "${key}"`);
    }
    await page.setInputFiles("#jw-forms-folder", forms);
    const taken = (await told(page, "grades")).join(" ");
    await page.fill("#jw-due", DUE);
    await page.click("text=/^Grade$/");
    await page.waitForSelector(".jw-results table", { timeout: 60000 });
    const csv = join(place, "page.csv");
    await saved(page, "Save grades.csv", csv);
    if (!readFileSync(csv).equals(readFileSync(join(place, "grades.csv")))) {
        faults.push(`grades.csv is not that of lab grade; the page said "${taken}"`);
    }
    await saved(page, "Save grades-pages.zip", join(place, "pages.zip"));
    unpack(join(place, "pages.zip"), join(place, "page-pages"));
    faults.push(...differences(join(place, "page-pages"), join(place, "grades-pages")));
    const shown = await page.innerText(".jw-results");
    for (const words of ["latin.toml, line 1", "10000 kB", "ABCD-EFGH", "three again.toml"]) {
        if (!shown.includes(words)) {
            faults.push(`the table does not say "${words}"`);
        }
    }
    faults.push(...(await inspect(page)), ...edition.faults.splice(0));
    await page.context().close();
    report(`${edition.name}: forms as lab grade`, faults);
}

/** A zip as a school's server packs it, dropped; then what is refused, each with a sentence. */
async function refuses(browser, edition, place, forms) {
    const faults = [];
    const page = await opened(browser, edition, { viewport: { width: 390, height: 844 }, hasTouch: true });
    await openDesk(page, edition);
    faults.push(...(await inspect(page)).map((fault) => `phone: ${fault}`));
    const says = async (name, words, what) => {
        const said = (await told(page, name)).join(" ");
        if (!said.includes(words)) {
            faults.push(`${what}: it says "${said}"`);
        }
    };
    await page.selectOption("#jw-lab", "three-ways");
    for (const [groups, seed, words] of [["", "", "groups: "], ["3", "5f3a", "32 hexadecimal digits"], ["3", "7", "this seed is short"]]) {
        await page.$eval("#jw-groups", (field, groups) => (field.value = groups), groups);
        await page.$eval("#jw-seed", (field, seed) => (field.value = seed), seed);
        await page.$eval(`${section("trays")} form`, (form) => form.dispatchEvent(new Event("submit", { cancelable: true })));
        await says("trays", words, `${groups} groups, seed ${seed}`);
    }
    await page.click("text=/^Grade$/");
    await says("grades", "Choose the key first", "no key");
    for (const [name, words] of [
        ["trays.zip", "there is no key in it"],
        ["trays/group-01/answers-group-01.toml", "line"],
        ["trays/group-01/sheet.html", "line"],
        ["large.zip", "no whole zip archive"],
    ]) {
        if (name === "large.zip") {
            writeFileSync(join(place, name), Buffer.alloc(10e6, "PK"));
        }
        await page.setInputFiles("#jw-key", join(place, name));
        await says("grades", words, name);
    }
    await page.setInputFiles("#jw-key", join(place, "trays/teacher/key.toml"));
    await says("grades", "The key to", "key.toml");
    const pack = "import shutil, sys; shutil.make_archive(sys.argv[1], 'zip', sys.argv[2])";
    execFileSync("python3", ["-c", pack, join(place, "handed-in"), forms]);
    const zip = readFileSync(join(place, "handed-in.zip")).toString("base64");
    await page.$eval(
        `${section("grades")} .jw-drop:has(#jw-forms)`,
        (target, zip) => {
            const bytes = Uint8Array.from(atob(zip), (letter) => letter.charCodeAt(0));
            const dataTransfer = new DataTransfer();
            dataTransfer.items.add(new File([bytes], "handed-in.zip"));
            target.dispatchEvent(new DragEvent("drop", { dataTransfer, bubbles: true, cancelable: true }));
        },
        zip,
    );
    await page.waitForSelector("text=Take all forms away");
    await page.click("text=/^Grade$/");
    await page.waitForSelector(".jw-results table", { timeout: 60000 });
    faults.push(...(await inspect(page)).map((fault) => `phone, graded: ${fault}`));
    await saved(page, "Save grades.csv", join(place, "dropped.csv"));
    lab("grade", join(place, "trays"), "--answers", forms, "--out", join(place, "undated.csv"));
    const dropped = readFileSync(join(place, "dropped.csv"), "utf8").replaceAll("handed-in.zip/", "");
    if (dropped !== readFileSync(join(place, "undated.csv"), "utf8")) {
        faults.push("the forms of a dropped zip get other grades than the folder");
    }
    await page.click("text=Take all forms away");
    await page.click("text=/^Grade$/");
    await says("grades", "There is no form yet", "no forms");
    faults.push(...edition.faults.splice(0));
    await page.context().close();
    report(`${edition.name}: a dropped zip, and what is refused`, faults);
}

const browser = await launch();
const server = await serve(options.served);
const editions = [
    { name: "served", origin: `http://127.0.0.1:${server.address().port}/`, faults: [] },
    { name: "from a file path", origin: `${pathToFileURL(options.stick).href}/`, faults: [] },
];
for (const [at, edition] of editions.entries()) {
    const place = join(scratch, String(at));
    const forms = join(place, "forms");
    mkdirSync(forms, { recursive: true });
    await makes(browser, edition, place);
    await fillsForm(browser, edition, place, forms);
    handIn(place, forms);
    await grades(browser, edition, place, forms);
    await refuses(browser, edition, place, forms);
}
await browser.close();
server.close();
rmSync(scratch, { recursive: true });
console.log(`${failed} faults`);
process.exit(failed === 0 ? 0 : 1);
