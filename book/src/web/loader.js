// Brings the module __NAME__ to the page that asks for it:
//
//   const exports = await window.jigwise.__NAME__.load((share) => {});
//
// `share` is how much of it is here, from 0 to 1. A worker made from a Blob takes `glueText` and a
// copy of what `bytes` gives.
(function () {
    "use strict";
    const NAME = "__NAME__";
    const ON_A_STICK = __STICK__;
    const RAW_BYTES = __RAW__;
    const folder = new URL(".", document.currentScript.src);

    function glue() {
/*__GLUE__*/
        return __GLOBAL__;
    }

    // Where files are opened without a server, a script is all that a browser lets a page read.
    function script(url) {
        return new Promise((done, failed) => {
            const element = document.createElement("script");
            element.src = url;
            element.onload = done;
            element.onerror = () => failed(new Error(`${url} can't be read`));
            document.head.append(element);
        });
    }

    // Reads a stream to its end; `whole` is the length that is expected.
    async function drained(stream, whole, progress) {
        const reader = stream.getReader();
        const pieces = [];
        let length = 0;
        for (;;) {
            const { done, value } = await reader.read();
            if (done) {
                break;
            }
            pieces.push(value);
            length += value.length;
            progress(Math.min(1, length / whole));
        }
        const bytes = new Uint8Array(length);
        let at = 0;
        for (const piece of pieces) {
            bytes.set(piece, at);
            at += piece.length;
        }
        return bytes;
    }

    async function unpacked(progress) {
        await script(new URL(`${NAME}-bytes.js`, folder));
        const text = atob(entry.zipped);
        entry.zipped = undefined;
        const zipped = Uint8Array.from(text, (letter) => letter.charCodeAt(0));
        const stream = new Blob([zipped]).stream().pipeThrough(new DecompressionStream("gzip"));
        return drained(stream, RAW_BYTES, progress);
    }

    async function fetched(progress) {
        const answer = await fetch(new URL(`${NAME}.wasm`, folder));
        if (!answer.ok) {
            throw new Error(`${answer.url}: ${answer.status}`);
        }
        return drained(answer.body, RAW_BYTES, progress);
    }

    let bytes;
    let loaded;
    const entry = {
        glueText: () => `(${glue})()`,
        bytes: (progress = () => {}) => (bytes ??= ON_A_STICK ? unpacked(progress) : fetched(progress)),
        load: (progress) =>
            (loaded ??= entry.bytes(progress).then(async (bytes) => {
                const bound = glue();
                await bound({ module_or_path: bytes });
                return bound;
            })),
    };
    window.jigwise = { ...window.jigwise, [NAME]: entry };
})();
