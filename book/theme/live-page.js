// A page whose part can be moved. The module `live` computes; this script knows fingers, keys and
// places. Without the module, in print and in the page that holds the whole book nothing happens:
// the page is what was built.
(function () {
    "use strict";
    const { live: module, isWholeBook, make } = window.jigwise;
    const main = document.querySelector("main");
    const elements = main ? [...main.querySelectorAll(".jw-live")] : [];
    if (!module || elements.length === 0 || isWholeBook) {
        return;
    }
    const KEY = "#bench=";
    /** How long a hand rests before it is spoken of and the address follows, ms. */
    const REST_MS = 500;
    const SVG = "http://www.w3.org/2000/svg";

    module.load().then(begin, (error) => say(`The page stays as it is printed: ${error.message}`));

    let note;
    function say(text) {
        if (!note) {
            note = document.createElement("p");
            note.className = "jw-note";
            note.setAttribute("role", "status");
            (main.querySelector(".minutes") ?? main.firstElementChild).after(note);
        }
        note.textContent = text;
    }

    function begin(exports) {
        const page = new exports.LivePage();
        const pieces = elements.map((element) => taken(page, element));
        const names = [...new Set(pieces.flatMap((piece) => piece.of))];
        const titles = new Map(
            names.map((name) => [name, exports.part_title(name)]).filter(([, title]) => title),
        );
        if (titles.size === 0) {
            return;
        }
        const bar = barOf(titles);
        (main.querySelector(".minutes") ?? main.firstElementChild).after(bar.element);
        note = bar.note;
        new Desk(page, pieces, titles, bar).start();
        document.documentElement.classList.add("jw-lives");
        module.readyMs = performance.now();
    }

    /** A piece of the page, known to the module. */
    function taken(page, element) {
        const { of, value, formula, block, body, id } = element.dataset;
        const piece = { element, of: of.split(" "), printed: element.innerHTML };
        if (value !== undefined) {
            piece.index = page.add_value(value);
            piece.isText = true;
        } else if (formula !== undefined) {
            piece.index = page.add_formula(formula, "displayed" in element.dataset);
        } else {
            piece.index = page.add_block(block, body, id);
            piece.isBlock = true;
        }
        return piece;
    }

    /** The controls of the page: which part, its value typed, its size and phase, and back. */
    function barOf(titles) {
        const part = make("input", { id: "jw-part", autocomplete: "off", spellcheck: "false" });
        const range = (id, min, max, step) => make("input", { id, type: "range", min, max, step });
        const size = range("jw-size", -3, 6, 1 / 24);
        const phase = range("jw-phase", -90, 90, 1);
        const shown = { size: make("output", { for: "jw-size" }), phase: make("output", { for: "jw-phase" }) };
        const back = make("button", { type: "button", class: "jw-back" }, "As printed");
        const note = make("p", { class: "jw-note", role: "status" });
        const head = make("div", { class: "jw-bar-row" });
        let which;
        if (titles.size > 1) {
            which = make("select", { id: "jw-which" });
            for (const [name, title] of titles) {
                which.append(make("option", { value: name }, title));
            }
            head.append(make("label", { for: "jw-which" }, "Move"), which);
        } else {
            head.append(make("span", {}, `Move: ${[...titles.values()][0]}`));
        }
        head.append(make("label", { for: "jw-part" }, "Part"), part, back);
        const sliders = make(
            "div",
            { class: "jw-bar-row" },
            make("label", { for: "jw-size" }, "|Z|"),
            size,
            shown.size,
            make("label", { for: "jw-phase" }, "Phase"),
            phase,
            shown.phase,
        );
        const element = make("section", { class: "jw-bar", "aria-label": "Move the part of this page" });
        element.append(head, sliders, note);
        return { element, which, part, size, phase, shown, back, note };
    }

    class Desk {
        constructor(page, pieces, titles, bar) {
            Object.assign(this, { page, pieces, titles, bar });
            this.asked = false;
            this.held = false;
        }

        start() {
            this.choose(this.firstName());
            const { bar } = this;
            bar.which?.addEventListener("change", () => this.choose(bar.which.value));
            bar.back.addEventListener("click", () => this.putBack());
            bar.part.addEventListener("change", () => this.move(() => this.page.type_part(bar.part.value)));
            bar.part.addEventListener("keydown", (event) => {
                if (event.key === "Escape") {
                    bar.part.value = this.page.words();
                }
            });
            for (const slider of [bar.size, bar.phase]) {
                slider.addEventListener("input", () =>
                    this.move(() => this.page.set_polar(Number(bar.size.value), Number(bar.phase.value)), slider),
                );
            }
            // On paper the page is what was built: its sentences speak of that part.
            addEventListener("beforeprint", () => this.showPrinted());
            addEventListener("afterprint", () => this.page.is_moved() && this.show());
            addEventListener("hashchange", () => this.openLink());
            this.openLink();
        }

        /** The part that a figure of the page shows, or else the first that is quoted. */
        firstName() {
            const inFigure = this.pieces.find(
                (piece) => piece.element.querySelector("[data-grip]") && this.titles.has(piece.of[0]),
            );
            return inFigure ? inFigure.of[0] : [...this.titles.keys()][0];
        }

        choose(name) {
            if (this.name !== undefined) {
                this.showPrinted();
            }
            this.name = name;
            this.page.take(name);
            this.letGo();
            if (this.bar.which) {
                this.bar.which.value = name;
            }
            for (const piece of this.pieces) {
                piece.follows = piece.of.includes(name);
                piece.element.classList.toggle("jw-follows", piece.follows);
                this.addGrips(piece);
            }
            this.showBar();
            this.tell();
        }

        /** The part comes from elsewhere now, and not from what was moved last. */
        letGo() {
            this.from = undefined;
            this.held = false;
            this.bar.part.removeAttribute("aria-invalid");
        }

        /** Moves the part; what is refused is said and changes nothing. */
        move(how, from) {
            try {
                how();
            } catch (refusal) {
                this.say(String(refusal));
                this.bar.part.setAttribute("aria-invalid", "true");
                return;
            }
            this.bar.part.removeAttribute("aria-invalid");
            this.from = from;
            if (!this.asked) {
                this.asked = true;
                requestAnimationFrame(() => this.show());
            }
        }

        /** Everything that follows the part, in one frame. */
        show() {
            this.asked = false;
            const began = performance.now();
            for (const piece of this.pieces) {
                if (piece.follows) {
                    this.showPiece(piece);
                }
            }
            this.showBar();
            module.updateMs = performance.now() - began;
            clearTimeout(this.resting);
            this.resting = setTimeout(() => this.rest(), REST_MS);
        }

        showPiece(piece) {
            let html;
            piece.element.removeAttribute("title");
            try {
                html = this.page.html(piece.index, typeof piece.shown === "string");
            } catch (refusal) {
                piece.shown = null;
                if (piece.isBlock) {
                    const sentence = make("p", { class: "jw-refused" }, `For this part: ${refusal}.`);
                    piece.element.replaceChildren(sentence);
                } else {
                    piece.element.textContent = "–";
                    piece.element.title = String(refusal);
                }
                return;
            }
            if (piece.isText) {
                piece.element.textContent = html;
                return;
            }
            if (piece.shown !== html) {
                this.fill(piece, html);
                piece.shown = html;
            }
        }

        fill(piece, html) {
            piece.shown = null;
            const next = document.createElement("template");
            next.innerHTML = html;
            for (const svg of next.content.querySelectorAll("[data-grip] > svg")) {
                svg.setAttribute("role", "group");
            }
            morph(piece.element, next.content);
            this.addGrips(piece);
        }

        showPrinted() {
            for (const piece of this.pieces) {
                piece.element.removeAttribute("title");
                if (piece.isBlock) {
                    this.fill(piece, piece.printed);
                } else {
                    piece.shown = null;
                    piece.element.innerHTML = piece.printed;
                }
            }
        }

        putBack() {
            this.page.put_back();
            this.letGo();
            this.showPrinted();
            this.showBar();
            this.rest();
        }

        showBar() {
            const { bar, page } = this;
            const isMoved = page.is_moved();
            bar.element.classList.toggle("jw-moved", isMoved);
            bar.back.disabled = !isMoved;
            if (document.activeElement !== bar.part || this.from !== bar.part) {
                bar.part.value = page.words();
            }
            const [size, phase] = [page.magnitude_words(), page.phase_words()];
            for (const [slider, value, words] of [
                [bar.size, page.log_ohm(), size],
                [bar.phase, page.degrees(), phase],
            ]) {
                if (this.from !== slider) {
                    slider.value = value;
                }
                slider.setAttribute("aria-valuetext", words);
            }
            bar.shown.size.textContent = size;
            bar.shown.phase.textContent = phase;
            for (const grip of main.querySelectorAll(".jw-grip")) {
                this.name && this.describe(grip);
            }
        }

        /** The hand rests: the address follows, and the page says what it now speaks of. */
        rest() {
            clearTimeout(this.resting);
            // What was refused stays in sight.
            if (!this.bar.part.hasAttribute("aria-invalid")) {
                this.tell();
            }
            let hash = "";
            if (this.page.is_moved()) {
                try {
                    hash = `#${this.page.fragment()}&of=${this.name}`;
                } catch (refusal) {
                    this.say(String(refusal));
                }
            }
            if (hash !== "" || location.hash.startsWith(KEY)) {
                const address = location.pathname + location.search + hash;
                history.replaceState(null, "", location.protocol === "file:" ? `${location.href.split("#")[0]}${hash}` : address);
            }
        }

        tell() {
            const printed = this.page.printed_words();
            this.say(
                this.page.is_moved()
                    ? `The part is ${this.page.words()} now. What is underlined follows it, and so do its ` +
                          `tables and figures. The sentences between them were written for ${printed}.`
                    : "Drag the ring in a figure, type a part or use the sliders: what is underlined follows.",
            );
        }

        say(text) {
            if (note.textContent !== text) {
                note.textContent = text;
            }
        }

        /** A link that carries a bench; any other fragment belongs to mdBook. */
        openLink() {
            // Back to the address without a bench, and so to the page as printed.
            if (location.hash === "" && this.page.is_moved()) {
                this.putBack();
            }
            if (!location.hash.startsWith(KEY)) {
                return;
            }
            const of = new URLSearchParams(location.hash.slice(location.hash.indexOf("&") + 1)).get("of");
            if (of && of !== this.name && this.titles.has(of)) {
                this.choose(of);
            }
            try {
                this.page.open(this.name, location.hash);
                this.letGo();
            } catch (refusal) {
                clearTimeout(this.resting);
                this.letGo();
                this.page.take(this.name);
                this.showPrinted();
                this.showBar();
                this.say(`${refusal}. The page is as it is printed.`);
                return;
            }
            // Another bench may have another instrument, and so other layers below the part.
            for (const piece of this.pieces) {
                piece.shown = null;
            }
            this.show();
        }

        addGrips(piece) {
            this.addAgain(piece);
            for (const figure of piece.element.querySelectorAll("[data-grip]")) {
                const svg = figure.querySelector("svg");
                let grip = svg.querySelector(":scope > .jw-grip");
                if (!piece.follows) {
                    grip?.remove();
                    svg.setAttribute("role", "img");
                    continue;
                }
                svg.setAttribute("role", "group");
                grip ??= this.newGrip(piece, svg, figure.dataset.grip);
                grip.setAttribute("transform", `translate(${figure.dataset.x} ${figure.dataset.y})`);
                this.describe(grip);
            }
        }

        /** Calibrating again, where the page shows what comes of it. */
        addAgain(piece) {
            const section = piece.element.querySelector("[data-calibrates]");
            const button = section?.querySelector(".jw-again");
            if (!piece.follows) {
                button?.remove();
            } else if (section && !button) {
                const again = make("button", { type: "button", class: "jw-again", "data-keep": "" }, "Calibrate again");
                again.addEventListener("click", () => this.move(() => this.page.calibrate_again()));
                section.append(again);
            }
        }

        newGrip(piece, svg, kind) {
            const grip = document.createElementNS(SVG, "g");
            const isFlat = kind.endsWith("rule") || kind === "reach";
            for (const [key, value] of Object.entries({
                class: "jw-grip",
                "data-keep": "",
                role: "slider",
                tabindex: "0",
                "aria-label": isFlat ? "The part: |Z|" : "The part: |Z| left and right, phase up and down",
                "aria-valuemin": "-3",
                "aria-valuemax": "6",
            })) {
                grip.setAttribute(key, value);
            }
            for (const [name, radius] of [["jw-touch", 22], ["jw-focus", 15]]) {
                const circle = document.createElementNS(SVG, "circle");
                circle.setAttribute("class", name);
                circle.setAttribute("r", radius);
                grip.append(circle);
            }
            svg.append(grip);
            const moveTo = (event) => {
                const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
                this.move(() => this.page.drag(kind, at.x, at.y));
            };
            grip.addEventListener("pointerdown", (event) => {
                event.preventDefault();
                grip.focus();
                grip.setPointerCapture(event.pointerId);
                this.held = true;
            });
            grip.addEventListener("pointermove", (event) => this.held && event.buttons !== 0 && moveTo(event));
            for (const name of ["pointerup", "pointercancel", "lostpointercapture"]) {
                grip.addEventListener(name, () => (this.held = false));
            }
            svg.onclick = (event) => {
                if (piece.follows && !event.target.closest(".jw-grip")) {
                    moveTo(event);
                }
            };
            grip.addEventListener("keydown", (event) => this.key(event, isFlat));
            return grip;
        }

        key(event, isFlat) {
            const by = event.shiftKey ? 0.1 : 1;
            const steps = { ArrowLeft: [-by, 0], ArrowRight: [by, 0], ArrowUp: [0, by], ArrowDown: [0, -by] };
            let step = steps[event.key];
            if (!step || event.ctrlKey || event.altKey || event.metaKey) {
                return;
            }
            if (isFlat && step[1] !== 0) {
                step = [step[1], 0];
            }
            event.preventDefault();
            this.move(() => this.page.step(...step));
        }

        describe(grip) {
            grip.setAttribute("aria-valuenow", this.page.log_ohm().toFixed(3));
            grip.setAttribute("aria-valuetext", `${this.page.magnitude_words()}, ${this.page.phase_words()}`);
        }
    }

    /** Makes the children of `old` those of `next`, and leaves alone what is alike: what has the
        focus keeps it, and what is scrolled stays where it is. */
    function morph(old, next) {
        const kept = [...old.childNodes].filter((node) => node.dataset?.keep !== undefined);
        const before = [...old.childNodes].filter((node) => !kept.includes(node));
        const after = [...next.childNodes];
        for (let k = 0; k < after.length; k += 1) {
            const [from, to] = [before[k], after[k]];
            if (!from) {
                old.insertBefore(to, kept[0] ?? null);
            } else if (from.nodeName !== to.nodeName) {
                from.replaceWith(to);
            } else if (from.nodeType === Node.TEXT_NODE) {
                if (from.nodeValue !== to.nodeValue) {
                    from.nodeValue = to.nodeValue;
                }
            } else if (from.nodeType === Node.ELEMENT_NODE) {
                // A layer that does not follow the part comes empty where it stands already.
                const isStill = to.matches("g.jw-still") && !to.hasChildNodes();
                if (isStill || from.isEqualNode(to)) {
                    continue;
                }
                alike(from, to);
                morph(from, to);
            }
        }
        for (const node of before.slice(after.length)) {
            node.remove();
        }
    }

    function alike(from, to) {
        for (const { name } of [...from.attributes]) {
            // What the reader opened stays open.
            if (!to.hasAttribute(name) && !(name === "open" && from.nodeName === "DETAILS")) {
                from.removeAttribute(name);
            }
        }
        for (const { name, value } of to.attributes) {
            if (from.getAttribute(name) !== value) {
                from.setAttribute(name, value);
            }
        }
    }
})();
