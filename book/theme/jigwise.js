// Small repairs to mdBook's page, so that the keyboard reaches everything, and what the scripts of
// live pages share.
(function () {
    "use strict";

    // What the scripts of live pages share.
    window.jigwise = {
        ...window.jigwise,
        /** The page to print that holds the whole book: nothing is live there. */
        isWholeBook: /\/print\.html$/.test(location.pathname),
        /** An element with its attributes and what stands in it. */
        make(name, attributes, ...inside) {
            const element = document.createElement(name);
            for (const [key, value] of Object.entries(attributes)) {
                element.setAttribute(key, value);
            }
            element.append(...inside);
            return element;
        },
    };

    // The skip link comes first of all.
    const skip = document.querySelector(".jw-skip");
    if (skip) {
        document.body.prepend(skip);
        const text = document.getElementById("mdbook-content");
        text.setAttribute("tabindex", "-1");
        skip.addEventListener("click", function () {
            text.focus();
        });
    }

    // Title and buttons stand in a landmark of their own.
    const bar = document.getElementById("mdbook-menu-bar");
    if (bar) {
        bar.setAttribute("role", "banner");
    }

    // The search has a landmark and a name.
    const search = document.getElementById("mdbook-search-wrapper");
    if (search) {
        search.setAttribute("role", "search");
        document.getElementById("mdbook-searchbar").setAttribute("aria-label", "Search this book");
    }

    // A stock theme kept by another book on this address would show through.
    for (const stock of ["light", "rust", "coal", "navy", "ayu"]) {
        document.documentElement.classList.remove(stock);
    }

    // mdBook hears bare keys on the document: arrows turn pages, "s" and "/" open the search. What
    // is typed into a field or moves a slider on a page ends at the page. In a box that scrolls
    // the arrows scroll it.
    const OWN_KEYS = "input, textarea, select, [contenteditable], [role=slider]";
    const SCROLLS = '.jw-table, .jw-shell, main pre > code, math[display="block"]';
    const page = document.querySelector("main");
    if (page) {
        page.addEventListener("keydown", function (event) {
            const arrow = event.key === "ArrowLeft" || event.key === "ArrowRight";
            if (event.target.closest(OWN_KEYS) || (arrow && event.target.closest(SCROLLS))) {
                event.stopPropagation();
            }
        });
    }

    // A box that holds more than it shows says so.
    function markFull() {
        for (const box of document.querySelectorAll(SCROLLS)) {
            const isFull = box.scrollWidth > box.clientWidth + 1;
            if (box.matches(".jw-table, .jw-shell")) {
                box.classList.toggle("jw-more", isFull);
            } else if (isFull) {
                // Code and formulas are stops of the keyboard only where they scroll; a table
                // always is one.
                box.tabIndex = 0;
            } else {
                box.removeAttribute("tabindex");
            }
        }
    }
    markFull();
    window.addEventListener("resize", markFull);
    document.fonts.ready.then(markFull);
})();
