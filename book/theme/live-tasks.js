// Tasks that are checked on their page, and a formula of the reader's own. What was solved is kept
// in this browser alone; it can be taken out as a file, and erased.
(function () {
    "use strict";
    const { live: module, isWholeBook, make } = window.jigwise;
    const main = document.querySelector("main");
    if (!module || !main || isWholeBook) {
        return;
    }
    const tasks = [...main.querySelectorAll("section[data-task]")];
    const formulas = [...main.querySelectorAll("section[data-formula-task]")];
    if (tasks.length + formulas.length === 0) {
        return;
    }
    const SHELF = "jigwise-solved";

    // What was solved: { TASK: { answer, day } }. A browser may refuse to keep anything, and what it
    // kept may have been written by another page.
    function read() {
        const found = {};
        try {
            const kept = JSON.parse(localStorage.getItem(SHELF));
            for (const [key, entry] of Object.entries(kept ?? {})) {
                if (typeof entry?.answer === "string" && typeof entry?.day === "string") {
                    found[key] = { answer: entry.answer, day: entry.day };
                }
            }
        } catch {
            // Nothing is kept, so nothing was solved.
        }
        return found;
    }
    let solved = read();
    let keeps = true;
    function keep() {
        try {
            if (Object.keys(solved).length === 0) {
                localStorage.removeItem(SHELF);
            } else {
                localStorage.setItem(SHELF, JSON.stringify(solved));
            }
        } catch {
            keeps = false;
        }
    }

    module.load().then(begin, () => {});

    function begin(exports) {
        const shelf = tasks.length > 0 ? shelfOf(exports) : undefined;
        for (const section of tasks) {
            taskForm(exports, section, () => shelf.show());
        }
        for (const section of formulas) {
            formulaForm(exports, section);
        }
        if (shelf) {
            const last = tasks[tasks.length - 1];
            last.after(shelf.element);
            shelf.show();
            addEventListener("storage", (event) => {
                if (event.key === SHELF || event.key === null) {
                    solved = read();
                    shelf.show();
                }
            });
        }
    }

    function answerLine() {
        return make("p", { class: "jw-told", role: "status" });
    }

    function tell(line, kind, text) {
        line.className = `jw-told jw-${kind}`;
        line.textContent = text;
    }

    function taskForm(exports, section, changed) {
        const key = section.dataset.task;
        const id = `jw-answer-${key}`;
        const field = make("input", { id, autocomplete: "off", spellcheck: "false" });
        const told = answerLine();
        const form = make(
            "form",
            { class: "jw-form" },
            make("label", { for: id }, "Answer"),
            field,
            make("button", { type: "submit" }, "Check"),
        );
        section.querySelector(".check").replaceWith(form, told);
        if (solved[key]) {
            field.value = solved[key].answer;
            tell(told, "right", `Solved on ${solved[key].day}.`);
        }
        form.addEventListener("submit", (event) => {
            event.preventDefault();
            const answer = field.value.trim();
            if (answer === "") {
                tell(told, "refused", "Type an answer first.");
                return;
            }
            let checked;
            try {
                checked = exports.check_answer(key, answer);
            } catch (refusal) {
                tell(told, "refused", String(refusal));
                return;
            }
            tell(told, checked.right ? "right" : "wrong", checked.words);
            if (checked.right) {
                // Another tab may have solved something since.
                solved = { ...(keeps ? read() : solved), [key]: { answer, day: new Date().toISOString().slice(0, 10) } };
                keep();
                changed();
            }
            checked.free();
        });
    }

    function formulaForm(exports, section) {
        const which = make("select", { id: "jw-formula-fixture" });
        which.append(section.querySelector("template").content.cloneNode(true));
        const field = make("input", { id: "jw-formula", autocomplete: "off", spellcheck: "false" });
        field.value = "Z0*(1+S)/(1-S)";
        const told = answerLine();
        const form = make(
            "form",
            { class: "jw-form" },
            make("label", { for: "jw-formula" }, "Z ="),
            field,
            make("label", { for: "jw-formula-fixture" }, "in"),
            which,
            make("button", { type: "submit" }, "Check"),
        );
        section.querySelector(".check").replaceWith(form, told);
        form.addEventListener("submit", (event) => {
            event.preventDefault();
            try {
                const said = exports.check_formula(field.value, which.value);
                tell(told, said.startsWith("Right:") ? "right" : "wrong", said);
            } catch (refusal) {
                tell(told, "refused", String(refusal));
            }
        });
    }

    // How many tasks were solved, with a way to take that along and a way to forget it.
    function shelfOf(exports) {
        const line = make("p", {});
        const take = make("button", { type: "button" }, "Take along as a file");
        const erase = make("button", { type: "button" }, "Erase");
        const element = make(
            "section",
            { class: "jw-shelf", "aria-label": "What you have solved" },
            line,
            take,
            erase,
        );
        take.addEventListener("click", () => {
            const lines = Object.entries(solved).map(([key, { answer, day }]) => `${day}\t${key}\t${answer}\n`);
            const url = URL.createObjectURL(new Blob(["day\ttask\tanswer\n", ...lines], { type: "text/plain" }));
            make("a", { href: url, download: "jigwise-solved.txt" }).click();
            setTimeout(() => URL.revokeObjectURL(url), 1000);
        });
        erase.addEventListener("click", () => {
            solved = {};
            keep();
            for (const section of tasks) {
                section.querySelector("input").value = "";
                tell(section.querySelector(".jw-told"), "none", "");
            }
            show();
        });
        function show() {
            const here = tasks.filter((section) => solved[section.dataset.task]).length;
            const all = Object.keys(solved).filter((key) => exports.task_title(key)).length;
            const where = keeps
                ? "It is kept in this browser and goes nowhere."
                : "This browser keeps nothing, so it is gone when the page is.";
            line.textContent = `Solved: ${here} of ${tasks.length} on this page, ${all} in the whole book. ${where}`;
            take.disabled = erase.disabled = all === 0;
        }
        return { element, show };
    }
})();
