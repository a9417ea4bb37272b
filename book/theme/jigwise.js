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

    // The button of the contents is a label; make it one that can be reached and pressed.
    const menu = document.getElementById("mdbook-sidebar-toggle");
    if (menu) {
        menu.setAttribute("role", "button");
        menu.setAttribute("tabindex", "0");
        menu.setAttribute("aria-label", "Contents");
        menu.setAttribute("title", "Contents");
        menu.addEventListener("keydown", function (event) {
            if (event.key === "Enter" || event.key === " ") {
                event.preventDefault();
                menu.click();
            }
        });
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
