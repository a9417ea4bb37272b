// The teacher's page: trays are made and forms are graded by a worker, which holds the library of the
// command `lab`. Nothing leaves the browser.
(function () {
    "use strict";
    const { desk: module, isWholeBook, make } = window.jigwise;
    const main = document.querySelector("main");
    const part = (name) => main && main.querySelector(`section[data-desk="${name}"]`);
    const [trays, grades] = [part("trays"), part("grades")];
    if (!module || !trays || !grades || isWholeBook) {
        return;
    }
    /** More than any class hands in, and less than what fills a browser. */
    const MOST_BYTES = 200e6;
    /** Folders within folders that are walked through when a folder is dropped. */
    const DEEPEST = 8;

    // What runs in the worker. It is made from text, since a page that was opened from a file path
    // may not load a worker from a file.
    function inWorker(bound, MOST_BYTES) {
        let ready;
        let school;

        // The beginning of a packed file; nothing for one that can't be unpacked.
        async function unpacked(packed, most) {
            const stream = new Blob([packed]).stream().pipeThrough(new DecompressionStream("deflate-raw"));
            const reader = stream.getReader();
            const pieces = [];
            let length = 0;
            try {
                while (length <= most) {
                    const { done, value } = await reader.read();
                    if (done) {
                        break;
                    }
                    pieces.push(value);
                    length += value.length;
                }
                reader.cancel().catch(() => {});
            } catch {
                return new Uint8Array();
            }
            return new Uint8Array(await new Blob(pieces).arrayBuffer());
        }

        // What was chosen or dropped, with what stands in archives, as far as `wanted` takes it.
        async function* opened(files, wanted, most) {
            for (const { path, file } of files) {
                if (!/\.zip$/i.test(path)) {
                    yield { path, size: file.size, bytes: async () => new Uint8Array(await file.slice(0, most).arrayBuffer()) };
                    continue;
                }
                if (file.size > MOST_BYTES) {
                    throw `${path}: this archive has ${Math.round(file.size / 1e6)} MB and a page holds ${MOST_BYTES / 1e6} MB; unpack it and choose the folder`;
                }
                const zip = new Uint8Array(await file.arrayBuffer());
                let entries;
                try {
                    entries = bound.entries(zip);
                } catch (refused) {
                    throw typeof refused === "string" ? `${path}: ${refused}` : refused;
                }
                for (const entry of entries) {
                    const inside = `${path}/${entry.path}`;
                    const { size, start, end, is_deflated: isDeflated } = entry;
                    entry.free();
                    if (!wanted(inside)) {
                        yield { path: inside, size };
                        continue;
                    }
                    const packed = zip.subarray(start, end);
                    const bytes = isDeflated ? await unpacked(packed, most) : packed.slice(0, most);
                    yield { path: inside, size: Math.max(size, bytes.length), bytes: async () => bytes };
                }
            }
        }

        const calls = {
            trays({ lab, groups, seed, now }) {
                const made = bound.make(lab, groups, seed, now);
                const { said, code, trays, teacher } = made;
                made.free();
                return { said, code, trays, teacher };
            },
            async key({ files }) {
                const found = [];
                // A single file is taken for the key whatever it is called.
                const isOne = files.length === 1 && !/\.zip$/i.test(files[0].path);
                for await (const file of opened(files, bound.is_key, MOST_BYTES)) {
                    if (file.bytes && (isOne || bound.is_key(file.path))) {
                        found.push(file);
                    }
                }
                if (found.length !== 1) {
                    const names = files.map(({ path }) => path).slice(0, 3).join(", ");
                    throw found.length === 0
                        ? `${names}: there is no key in it. Choose teacher-….zip as you saved it, or teacher/key.toml; what was handed out has none`
                        : `${names}: there are ${found.length} keys in it. Choose the key.toml of the trays that you grade`;
                }
                return school.take_key(found[0].path, await found[0].bytes());
            },
            async forms({ files }) {
                const most = bound.largest_form() + 1;
                let [taken, left] = [0, 0];
                for await (const file of opened(files, bound.is_form, most)) {
                    const isForm = file.bytes && bound.is_form(file.path);
                    if (isForm && school.take_form(file.path, await file.bytes(), file.size)) {
                        taken += 1;
                    } else {
                        left += 1;
                    }
                }
                return { taken, left, all: school.forms() };
            },
            noForms() {
                school.clear_forms();
            },
            grades({ due, now }) {
                const graded = school.grade(due, now);
                const { said, csv, class: shown, pages } = graded;
                graded.free();
                return { said, csv, shown, pages };
            },
        };

        self.jigwiseProgress = (share) => postMessage({ share });
        onmessage = async ({ data }) => {
            try {
                ready ??= bound({ module_or_path: data.wasm });
                await ready;
                school ??= new bound.Class();
                postMessage({ result: await calls[data.call](data) });
            } catch (failure) {
                // The module throws its sentences as strings; anything else is a fault of its own.
                postMessage(typeof failure === "string" ? { refused: failure } : { broken: String(failure) });
            }
        };
    }

    let worker;
    let waiting = Promise.resolve();
    /** One call after the other; a call that is refused throws its sentence. */
    function ask(call, more = {}, progress = () => {}) {
        const answer = waiting.then(() => answerOf(call, more, progress));
        waiting = answer.catch(() => {});
        return answer;
    }

    async function answerOf(call, more, progress) {
        const wasm = await module.bytes();
        if (!worker) {
            const text = `(${inWorker})(${module.glueText()}, ${MOST_BYTES});`;
            const url = URL.createObjectURL(new Blob([text], { type: "text/javascript" }));
            worker = new Worker(url);
            URL.revokeObjectURL(url);
        }
        return new Promise((done, refused) => {
            const broken = (why) => {
                worker.terminate();
                worker = undefined;
                refused(`The page can't go on: ${why}. Load it again, and choose the files again.`);
            };
            worker.onmessage = ({ data }) => {
                if (data.share !== undefined) {
                    progress(data.share);
                } else if (data.broken !== undefined) {
                    broken(data.broken);
                } else if (data.refused !== undefined) {
                    refused(data.refused);
                } else {
                    done(data.result);
                }
            };
            worker.onerror = (event) => broken(event.message);
            worker.postMessage({ wasm, call, ...more });
        });
    }

    const now = () => Math.floor(Date.now() / 1000);

    /** What a section says, with its bar and the work that moves it. */
    function voice() {
        const bar = make("progress", { max: "1", value: "0", "aria-label": "Work done", hidden: "" });
        const told = make("p", { class: "jw-told", role: "status" });
        const say = (kind, text) => {
            told.className = `jw-told jw-${kind}`;
            told.textContent = text;
        };
        const work = async (doing, button, asked) => {
            button.disabled = true;
            bar.hidden = false;
            bar.value = 0;
            say("none", doing);
            try {
                return await asked((share) => (bar.value = share));
            } catch (failure) {
                say("refused", String(failure));
                return undefined;
            } finally {
                button.disabled = false;
                bar.hidden = true;
            }
        };
        return { bar, told, say, work };
    }

    function download(words, name, bytes, type) {
        const url = URL.createObjectURL(new Blob([bytes], { type }));
        return make("a", { href: url, download: name }, words);
    }

    /** Takes the addresses of what was offered before, so that the browser lets go of it. */
    function emptied(list) {
        for (const link of list.querySelectorAll("a")) {
            URL.revokeObjectURL(link.href);
        }
        list.replaceChildren();
    }

    makesTrays(trays);
    gradesForms(grades);

    function makesTrays(section) {
        const { most } = section.dataset;
        const lab = make("select", { id: "jw-lab" });
        lab.append(section.querySelector("template").content.cloneNode(true));
        const groups = make("input", { id: "jw-groups", type: "number", min: "1", max: most, value: "10" });
        const seed = make("input", { id: "jw-seed", autocomplete: "off", spellcheck: "false" });
        const button = make("button", { type: "submit" }, "Make the trays");
        const form = make(
            "form",
            { class: "jw-form" },
            make("label", { for: "jw-lab" }, "Lab"),
            lab,
            make("label", { for: "jw-groups" }, "Groups"),
            groups,
            button,
        );
        const again = make(
            "details",
            { class: "jw-again-trays" },
            make("summary", {}, "The same trays as before"),
            make(
                "div",
                { class: "jw-form" },
                make("label", { for: "jw-seed" }, "Seed, as the key has it. Leave it empty for new trays."),
                seed,
            ),
        );
        const { bar, told, say, work } = voice();
        const links = make("ul", { class: "jw-downloads", "aria-label": "Files to save" });
        section.querySelector(".check").replaceWith(form, again, bar, told, links);

        // Whoever leaves without the key can't grade.
        let isUnsaved = false;
        window.addEventListener("beforeunload", (event) => {
            if (isUnsaved) {
                event.preventDefault();
            }
        });

        form.addEventListener("submit", async (event) => {
            event.preventDefault();
            emptied(links);
            const bits = crypto.getRandomValues(new Uint8Array(16));
            const drawn = [...bits].map((byte) => byte.toString(16).padStart(2, "0")).join("");
            const asked = { lab: lab.value, groups: groups.value, seed: seed.value.trim() || drawn, now: now() };
            const made = await work("Making trays …", button, (progress) => ask("trays", asked, progress));
            if (!made) {
                return;
            }
            say("right", `${made.said} Save both files. Without the key the forms can't be graded.`);
            const zip = "application/zip";
            const key = download(`Save teacher-${made.code}.zip`, `teacher-${made.code}.zip`, made.teacher, zip);
            key.addEventListener("click", () => (isUnsaved = false));
            isUnsaved = true;
            links.append(
                make("li", {}, download(`Save trays-${made.code}.zip`, `trays-${made.code}.zip`, made.trays, zip), ": a folder for each group, to hand out"),
                make("li", {}, key, ": the key and the worked answers, for you alone"),
            );
            links.querySelector("a").focus();
        });
    }

    function gradesForms(section) {
        const keyPick = make("input", { id: "jw-key", type: "file", accept: ".toml,.zip" });
        const keyPlace = make("div", { class: "jw-drop" }, make("label", { for: "jw-key" }, "Choose or drop the key: teacher-….zip, or key.toml"), " ", keyPick);
        const key = voice();
        const folderPick = make("input", { id: "jw-forms-folder", type: "file", webkitdirectory: "", multiple: "" });
        const filesPick = make("input", { id: "jw-forms", type: "file", multiple: "", accept: ".toml,.txt,.zip" });
        const formsPlace = make(
            "div",
            { class: "jw-drop" },
            make("div", {}, make("label", { for: "jw-forms-folder" }, "Choose or drop the folder with the forms"), " ", folderPick),
            make("div", {}, make("label", { for: "jw-forms" }, "or the forms, or a zip of them"), " ", filesPick),
        );
        const forms = voice();
        const none = make("button", { type: "button", hidden: "" }, "Take all forms away");
        const due = make("input", { id: "jw-due", type: "datetime-local" });
        const button = make("button", { type: "button" }, "Grade");
        const settings = make(
            "div",
            { class: "jw-form" },
            make("label", { for: "jw-due" }, "Due, if late forms are to be marked"),
            due,
            none,
            button,
        );
        const { bar, told, say, work } = voice();
        const links = make("ul", { class: "jw-downloads", "aria-label": "Files to save" });
        const results = make("div", { class: "jw-results" });
        const inside = [keyPlace, key.told, formsPlace, forms.bar, forms.told, settings, bar, told, links, results];
        section.querySelector(".check").replaceWith(...inside);

        const takeKey = async (files) => {
            const said = await key.work("Reading the key …", button, () => ask("key", { files }));
            if (said) {
                key.say("right", said);
            }
            keyPick.value = "";
        };
        const takeForms = async (files) => {
            const taken = await forms.work("Reading the forms …", button, () => ask("forms", { files }));
            if (taken) {
                const count = (n, one, many) => `${n} ${n === 1 ? one : many}`;
                const left = taken.left === 0 ? "" : ` ${count(taken.left, "other file", "other files")} left out.`;
                forms.say(taken.taken === 0 ? "refused" : "right", `${count(taken.all, "form", "forms")} to grade.${left}`);
                none.hidden = taken.all === 0;
            }
            folderPick.value = filesPick.value = "";
        };
        const chosen = (pick) => [...pick.files].map((file) => ({ path: below(file.webkitRelativePath) || file.name, file }));
        keyPick.addEventListener("change", () => takeKey(chosen(keyPick)));
        for (const pick of [folderPick, filesPick]) {
            pick.addEventListener("change", () => takeForms(chosen(pick)));
        }
        droppable(keyPlace, takeKey);
        droppable(formsPlace, takeForms);
        none.addEventListener("click", async () => {
            await ask("noForms");
            none.hidden = true;
            forms.say("none", "No forms.");
            filesPick.focus();
        });

        button.addEventListener("click", async () => {
            emptied(links);
            results.replaceChildren();
            const asked = { due: due.value, now: now() };
            const graded = await work("Grading …", button, (progress) => ask("grades", asked, progress));
            if (!graded) {
                return;
            }
            say("right", graded.said);
            links.append(
                make("li", {}, download("Save grades.csv", "grades.csv", graded.csv, "text/csv"), ": a line for each form, for a spreadsheet"),
                make("li", {}, download("Save grades-pages.zip", "grades-pages.zip", graded.pages, "application/zip"), ": a page for each form to give back, and one for the class"),
            );
            show(graded.shown);
        });

        // The module escapes what students wrote.
        function show(html) {
            results.innerHTML = html;
            results.firstElementChild.remove();
            let title = "Grades";
            for (const element of [...results.children]) {
                if (element.tagName === "H2") {
                    title = element.textContent;
                    element.replaceWith(make("h3", {}, title));
                } else if (element.tagName === "TABLE") {
                    const around = make("div", { class: "jw-table", tabindex: "0", role: "region", "aria-label": title });
                    element.replaceWith(around);
                    around.append(element);
                }
            }
        }
    }

    /** A path without the folder that was chosen, as the command names forms. */
    function below(path) {
        return path.includes("/") ? path.slice(path.indexOf("/") + 1) : path;
    }

    function droppable(place, take) {
        for (const name of ["dragover", "dragenter"]) {
            place.addEventListener(name, (event) => {
                event.preventDefault();
                place.classList.add("jw-over");
            });
        }
        place.addEventListener("dragleave", () => place.classList.remove("jw-over"));
        place.addEventListener("drop", async (event) => {
            event.preventDefault();
            place.classList.remove("jw-over");
            // The list is empty as soon as this function waits.
            const items = [...event.dataTransfer.items].filter((item) => item.kind === "file");
            const dropped = items.map((item) => [item.webkitGetAsEntry?.(), item.getAsFile()]);
            const files = [];
            for (const [entry, file] of dropped) {
                if (entry?.isDirectory) {
                    await walk(entry, "", 0, files);
                } else if (file) {
                    files.push({ path: file.name, file });
                }
            }
            if (files.length > 0) {
                take(files);
            }
        });
    }

    async function walk(folder, path, depth, files) {
        const reader = folder.createReader();
        for (;;) {
            // A folder is read some files at a time.
            const entries = await new Promise((done, failed) => reader.readEntries(done, failed));
            if (entries.length === 0) {
                return;
            }
            for (const entry of entries) {
                const inside = path + entry.name;
                if (entry.isFile) {
                    files.push({ path: inside, file: await new Promise((done, failed) => entry.file(done, failed)) });
                } else if (depth < DEEPEST) {
                    await walk(entry, `${inside}/`, depth + 1, files);
                }
            }
        }
    }
})();
