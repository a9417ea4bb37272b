// Small repairs to mdBook's page, so that the keyboard reaches everything.
(function () {
    "use strict";

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

    // A stock theme kept by another book on this address would show through.
    for (const stock of ["light", "rust", "coal", "navy", "ayu"]) {
        document.documentElement.classList.remove(stock);
    }

    // Arrow keys move inside a table or shell box that scrolls, and turn no page there.
    for (const box of document.querySelectorAll(".jw-table, .jw-shell")) {
        box.addEventListener("keydown", function (event) {
            if (event.key === "ArrowLeft" || event.key === "ArrowRight") {
                event.stopPropagation();
            }
        });
    }
})();
