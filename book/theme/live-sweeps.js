// The reader's own sweeps, reduced on the page: a worker holds the files, runs the command `jig` on
// them and gives back what it wrote. Nothing leaves the browser.
(function () {
    "use strict";
    const { sweeps: module, isWholeBook, make } = window.jigwise;
    const main = document.querySelector("main");
    const section = main && main.querySelector("section[data-own-sweeps]");
    if (!module || !section || isWholeBook) {
        return;
    }
    const OUT = "report";
    /** Larger than any sweep of an analyzer, and less than what fills a browser. */
    const MOST_BYTES = 200e6;
    const STANDARDS = [
        ["open", "an open, raw"],
        ["short", "a short, raw"],
        ["load", "a load, raw"],
        ["thru", "a through, raw"],
        ["isolation", "both ports terminated, raw"],
        ["blank", "the fixture without the part"],
        ["calibration", "a calibration file"],
        ["named", "named by the calibration file"],
        ["", "leave it out"],
    ];

    // What runs in the worker. It is made from text, since a page that was opened from a file path
    // may not load a worker from a file.
    function inWorker(bound) {
        self.jigwiseProgress = (share) => postMessage({ share });
        let ready;
        onmessage = async ({ data }) => {
            try {
                ready ??= bound({ module_or_path: data.wasm });
                await ready;
                bound.clear();
                for (const { name, bytes } of data.files) {
                    bound.hold(name, bytes);
                }
                const said = bound.run(data.command);
                const files = bound.names_in(data.out).map((name) => ({ name, bytes: bound.bytes_of(name) }));
                bound.clear();
                postMessage({ succeeded: said.succeeded, out: said.out, err: said.err, files });
            } catch (failure) {
                postMessage({ succeeded: false, out: "", err: `the page can't go on: ${failure}`, files: [], broken: true });
            }
        };
    }

    let worker;
    async function run(command, files, progress) {
        const wasm = await module.bytes();
        if (!worker) {
            const text = `self.jigwiseProgress = () => {};(${inWorker})(${module.glueText()});`;
            const url = URL.createObjectURL(new Blob([text], { type: "text/javascript" }));
            worker = new Worker(url);
            URL.revokeObjectURL(url);
        }
        return new Promise((done) => {
            worker.onmessage = ({ data }) => {
                if (data.share !== undefined) {
                    progress(data.share);
                    return;
                }
                if (data.broken) {
                    worker.terminate();
                    worker = undefined;
                }
                done(data);
            };
            worker.onerror = (event) => {
                worker.terminate();
                worker = undefined;
                done({ succeeded: false, out: "", err: `the page can't go on: ${event.message}`, files: [] });
            };
            worker.postMessage({ wasm, command, files, out: OUT });
        });
    }

    // The files, each with what it is.
    const entries = [];
    const pick = make("input", { id: "jw-files", type: "file", multiple: "", accept: ".s1p,.s2p,.ts,.toml" });
    const place = make("div", { class: "jw-drop" }, make("label", { for: "jw-files" }, "Drop files here, or choose them:"), " ", pick);
    const list = make("ul", { class: "jw-files", "aria-label": "Files" });
    const instrument = make("select", { id: "jw-instrument" });
    instrument.append(section.querySelector("template.jw-instruments").content.cloneNode(true));
    const connections = make("input", { id: "jw-connections", type: "number", min: "0", max: "1000", value: "0" });
    const reduce = make("button", { type: "button" }, "Reduce");
    const numbers = make("button", { type: "button" }, "Numbers as JSON");
    const settings = make(
        "div",
        { class: "jw-form" },
        make("label", { for: "jw-instrument" }, "Instrument"),
        instrument,
        make("label", { for: "jw-connections" }, "Connected after calibration, times"),
        connections,
        reduce,
        numbers,
    );
    const bar = make("progress", { max: "1", value: "0", "aria-label": "Work done", hidden: "" });
    const told = make("p", { class: "jw-told", role: "status" });
    const shown = make("p", { class: "jw-command" });
    const results = make("div", { class: "jw-results" });
    section.querySelector(".check").replaceWith(place, list, settings, bar, told, shown, results);
    section.classList.add("jw-ready");

    pick.addEventListener("change", () => take([...pick.files]));
    for (const name of ["dragover", "dragenter"]) {
        place.addEventListener(name, (event) => {
            event.preventDefault();
            place.classList.add("jw-over");
        });
    }
    place.addEventListener("dragleave", () => place.classList.remove("jw-over"));
    place.addEventListener("drop", (event) => {
        event.preventDefault();
        place.classList.remove("jw-over");
        take([...event.dataTransfer.files]);
    });
    reduce.addEventListener("click", () => start([]));
    numbers.addEventListener("click", () => start(["--json"]));

    function say(kind, text) {
        told.className = `jw-told jw-${kind}`;
        told.textContent = text;
    }

    async function take(files) {
        const sum = [...files, ...entries].reduce((sum, { size, bytes }) => sum + (size ?? bytes.length), 0);
        if (sum > MOST_BYTES) {
            say("refused", `These files have ${Math.round(sum / 1e6)} MB together and a page holds ${MOST_BYTES / 1e6} MB; take the command for them.`);
            return;
        }
        for (const file of files) {
            const bytes = new Uint8Array(await file.arrayBuffer());
            const known = entries.find((entry) => entry.name === file.name);
            if (known) {
                known.bytes = bytes;
            } else {
                entries.push({ name: file.name, bytes, role: undefined });
            }
        }
        entries.sort((a, b) => (a.name < b.name ? -1 : 1));
        guess();
        showList();
    }

    // What a file is, by its name, until the reader says otherwise.
    function guess() {
        const calibration = entries.find((entry) => entry.name.endsWith(".toml"));
        const text = calibration ? new TextDecoder().decode(calibration.bytes) : "";
        for (const entry of entries) {
            const name = entry.name.toLowerCase();
            const by = [
                [/\.toml$/, "calibration"],
                [/open/, "open"],
                [/shorted|empty|blank/, "blank"],
                [/short/, "short"],
                [/load|match/, "load"],
                [/thr(u|ough)/, "thru"],
                [/isol/, "isolation"],
                [/\.s1p$/, "part reflect"],
                [/./, "part series-through"],
            ];
            const role = by.find(([pattern]) => pattern.test(name))[1];
            const named = entry !== calibration && text.includes(`"${entry.name}"`);
            entry.role ??= named ? "named" : role;
            if (named && !entry.role.startsWith("part")) {
                entry.role = "named";
            }
        }
    }

    function showList() {
        list.replaceChildren(
            ...entries.map((entry, index) => {
                const id = `jw-role-${index}`;
                const role = make("select", { id });
                const parts = section.querySelector("template.jw-fixtures").content.cloneNode(true);
                for (const option of parts.querySelectorAll("option")) {
                    option.value = `part ${option.value}`;
                }
                role.append(parts, ...STANDARDS.map(([value, words]) => make("option", { value }, words)));
                role.value = entry.role;
                role.addEventListener("change", () => (entry.role = role.value));
                const away = make("button", { type: "button", "aria-label": `Take ${entry.name} away` }, "×");
                away.addEventListener("click", () => {
                    entries.splice(index, 1);
                    showList();
                    pick.focus();
                });
                return make("li", {}, make("label", { for: id }, `${entry.name} is`), " ", role, away);
            }),
        );
    }

    // The command that does the same, for the shell and for the worker.
    function command(more) {
        const parts = entries.filter((entry) => entry.role.startsWith("part "));
        const fixtures = parts.map((entry) => entry.role.slice("part ".length));
        const options = [];
        for (const [role] of STANDARDS.filter(([role]) => role !== "" && role !== "named")) {
            for (const entry of entries.filter((entry) => entry.role === role)) {
                options.push(`--${role}`, entry.name);
            }
        }
        if (instrument.value !== "") {
            options.push("--instrument", instrument.value);
        }
        if (Number(connections.value) > 0) {
            options.push("--connections", connections.value);
        }
        const names = parts.map((entry) => entry.name);
        return ["jig", "reduce", "--fixture", fixtures.join(","), ...options, ...more, "--out", OUT, ...names];
    }

    async function start(more) {
        if (!entries.some((entry) => entry.role.startsWith("part "))) {
            say("refused", "Drop the sweep of a part first, and say in which fixture it was.");
            return;
        }
        const words = command(more);
        reduce.disabled = numbers.disabled = true;
        bar.hidden = false;
        bar.value = 0;
        results.replaceChildren();
        say("none", "Reducing …");
        const quoted = words.map((word) => (/[^\w.,/-]/.test(word) ? `"${word}"` : word)).join(" ");
        shown.replaceChildren("The same as a command: ", make("code", {}, `cargo ${quoted}`));
        const began = performance.now();
        const files = entries.filter((entry) => entry.role !== "").map(({ name, bytes }) => ({ name, bytes }));
        let said;
        try {
            said = await run(words, files, (share) => (bar.value = share));
        } catch (failure) {
            said = { succeeded: false, out: "", err: String(failure), files: [] };
        }
        module.reduceMs = performance.now() - began;
        reduce.disabled = numbers.disabled = false;
        bar.hidden = true;
        const notes = said.err.replace(/^jig: /gm, "").replace(/^report: report\.html.*\n?/gm, "").trim();
        say(said.succeeded ? "right" : "refused", [said.succeeded ? "Reduced." : "", notes].filter(Boolean).join("\n"));
        showResults(said, more.includes("--json"));
    }

    function showResults(said, isJson) {
        const links = make("ul", { class: "jw-downloads", "aria-label": "Results" });
        const link = (name, bytes, type) => {
            const url = URL.createObjectURL(new Blob([bytes], { type }));
            links.append(make("li", {}, make("a", { href: url, download: name }, name)));
        };
        for (const { name, bytes } of said.files) {
            link(name.slice(OUT.length + 1).replaceAll("/", "-"), bytes, "application/octet-stream");
        }
        if (isJson && said.out !== "") {
            link("points.json", said.out, "application/json");
        }
        module.said = said;
        results.replaceChildren();
        if (links.children.length > 0) {
            results.append(links);
        }
        for (const { name, bytes } of said.files.filter(({ name }) => name.endsWith("report.html"))) {
            // The report runs no script, so it gets none of this page's rights.
            const frame = make("iframe", { title: `Report, ${name}`, sandbox: "", class: "jw-report" });
            frame.srcdoc = new TextDecoder().decode(bytes);
            results.append(frame);
        }
    }
})();
