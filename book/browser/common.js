// What the checks in a browser share: a browser, a server of files, axe-core, seeded numbers.

import { readFileSync, readdirSync, statSync } from "node:fs";
import { createServer } from "node:http";
import { createRequire } from "node:module";
import { extname, join, resolve, sep } from "node:path";
import { chromium, firefox } from "playwright-core";

/** Which browser is tried: BROWSER says chromium, as nothing does, or firefox. */
export const isFirefox = process.env.BROWSER === "firefox";

/** What Chromium alone is asked to leave alone. */
const QUIET = [
    "--no-sandbox",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
];

/** A browser that asks nothing of the network of itself. Firefox draws with WebGL on a display
    only, so a check of the simulator wants one. */
export function launch({ draws = false } = {}) {
    if (isFirefox) {
        return firefox.launch({
            channel: "moz-firefox",
            executablePath: process.env.FIREFOX ?? "/usr/bin/firefox-esr",
            headless: !draws,
            firefoxUserPrefs: { "webgl.force-enabled": true },
        });
    }
    const drawing = ["--use-gl=angle", "--use-angle=swiftshader", "--enable-unsafe-swiftshader"];
    return chromium.launch({
        executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium",
        args: [...QUIET, ...(draws ? drawing : [])],
    });
}

const KINDS = {
    ".html": "text/html; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".css": "text/css",
    ".svg": "image/svg+xml",
    ".wasm": "application/wasm",
};

/** Serves a folder on loopback, as any static host does. */
export function serve(folder) {
    const root = resolve(folder);
    const server = createServer((request, response) => {
        const path = join(root, decodeURIComponent(new URL(request.url, "http://x").pathname));
        if (path !== root && !path.startsWith(root + sep)) {
            response.writeHead(403).end();
            return;
        }
        try {
            const file = statSync(path).isDirectory() ? join(path, "index.html") : path;
            const kind = KINDS[extname(file)] ?? "application/octet-stream";
            response.writeHead(200, { "content-type": kind }).end(readFileSync(file));
        } catch {
            response.writeHead(404).end();
        }
    });
    return new Promise((done) => server.listen(0, "127.0.0.1", () => done(server)));
}

/** Every file below a folder. */
export function files(folder) {
    return readdirSync(folder)
        .map((name) => join(folder, name))
        .flatMap((path) => (statSync(path).isDirectory() ? files(path) : [path]));
}

/** Numbers from 0 to 1 that come again with the seed (mulberry32). */
export function random(seed) {
    let state = seed >>> 0;
    return () => {
        state = (state + 0x6d2b79f5) >>> 0;
        let mixed = Math.imul(state ^ (state >>> 15), 1 | state);
        mixed = (mixed + Math.imul(mixed ^ (mixed >>> 7), 61 | mixed)) ^ mixed;
        return ((mixed ^ (mixed >>> 14)) >>> 0) / 4294967296;
    };
}

const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");

/** What axe-core finds wrong with a page, a line each; of some rules or of all. */
export async function violations(page, rules) {
    const result = await page.evaluate(
        async ([source, rules]) => {
            window.eval(source);
            return window.axe.run(document, {
                resultTypes: ["violations"],
                preload: false,
                ...(rules ? { runOnly: { type: "rule", values: rules } } : {}),
            });
        },
        [axe, rules],
    );
    return result.violations.flatMap(({ id, nodes }) =>
        nodes.map((node) => `${id} at ${node.target.join(" ")}: ${node.failureSummary.replace(/\s+/g, " ")}`),
    );
}

/** Shows what a check found, and says how many faults there are. */
export function report(name, faults) {
    console.log(`${faults.length === 0 ? "ok  " : "FAIL"} ${name}`);
    for (const fault of faults.slice(0, 8)) {
        console.log(`     ${fault}`);
    }
    if (faults.length > 8) {
        console.log(`     and ${faults.length - 8} more`);
    }
    return faults.length;
}

/** What reaches beyond the window's right side, but for boxes that scroll. */
export function tooWide(page) {
    return page.evaluate(() =>
        [...document.querySelectorAll("main *")]
            .filter((part) => !part.closest(".jw-table, .jw-shell, .table-wrapper, pre, svg, math"))
            .filter((part) => part.getBoundingClientRect().right > window.innerWidth + 1)
            .slice(0, 2)
            .map((part) => `wider than the window: ${part.outerHTML.slice(0, 80)}`),
    );
}
