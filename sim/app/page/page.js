// The simulator's page: loads the module, hands it benches, and writes beside the canvas what
// the canvas can't say to a screen reader. A classic script, so that it opens from a file path.
(() => {
  "use strict";

  const byId = (id) => document.getElementById(id);
  const LONGEST_BENCH = 65536;
  // What the module exports, once it is there.
  let simulator;

  function notice(text) {
    const place = byId("notice");
    place.textContent = text || "";
    place.hidden = !text;
    if (text) {
      window.scrollTo(0, 0);
    }
  }

  function fail(text) {
    byId("loading").hidden = false;
    byId("loading-progress").hidden = true;
    byId("loading-words").textContent = text;
  }

  function hasWebGl2() {
    try {
      return Boolean(document.createElement("canvas").getContext("webgl2"));
    } catch {
      return false;
    }
  }

  async function load() {
    if (!hasWebGl2()) {
      fail(
        "This browser can't draw with WebGL2, which the simulator needs. Try another browser, or " +
          "turn hardware acceleration on. The book's pages work without it.",
      );
      return;
    }
    const progress = byId("loading-progress");
    try {
      simulator = await window.jigwise.simulator.load((share) => {
        progress.value = share;
        if (share === 1) {
          byId("loading-words").textContent = "Starting the simulator.";
        }
      });
    } catch (error) {
      fail(`The simulator can't be loaded (${error.message || error}). Load the page again.`);
      return;
    }
    start();
  }

  // ---- The bench: from the link, a file, the clipboard.

  function takeLink() {
    const fragment = location.hash.slice(1);
    if (!fragment || document.getElementById(fragment)) {
      return;
    }
    const theme = new URLSearchParams(fragment).get("theme");
    if (theme) {
      simulator.page_theme(theme);
    }
    if (/^(talk|round|predict)=/.test(fragment)) {
      notice(simulator.page_open_mode(fragment));
      return;
    }
    notice(fragment.startsWith("bench=") ? simulator.page_open_link(fragment) : "");
  }

  function takeText(text, name) {
    notice(simulator.page_open(text, name));
  }

  async function takeFile(file) {
    if (!file) {
      return;
    }
    if (file.size > LONGEST_BENCH) {
      notice(`${file.name} is longer than a bench file is; choose a scenario (a TOML file).`);
      return;
    }
    takeText(await file.text(), file.name);
  }

  function download(name, text) {
    const link = document.createElement("a");
    link.href = URL.createObjectURL(new Blob([text], { type: "text/plain" }));
    link.download = name;
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 10000);
  }

  async function copyLink() {
    let text;
    try {
      text = `${location.href.split("#")[0]}#${simulator.page_link()}`;
    } catch (sentence) {
      notice(String(sentence));
      return;
    }
    try {
      await navigator.clipboard.writeText(text);
      notice("The link to this bench is copied.");
    } catch {
      // Not allowed from a file path: the address bar has it then.
      history.replaceState(null, "", text);
      notice("The address of this page is now the link to this bench. Copy it from there.");
    }
  }

  // ---- What is said beside the canvas.

  function say(sentences, complaint) {
    const place = byId("said");
    place.replaceChildren(
      ...sentences.map((sentence) => {
        const line = document.createElement("p");
        line.textContent = sentence;
        return line;
      }),
    );
    byId("complaint").textContent = complaint || "";
  }

  function leave(isForward) {
    byId(isForward ? "type-part" : "full-screen").focus();
  }

  // ---- What was predicted and played: kept by this browser, where it keeps anything.

  const KEPT = "jigwise-progress";

  function keep(text) {
    try {
      if (text === null) {
        localStorage.removeItem(KEPT);
      } else {
        localStorage.setItem(KEPT, text);
      }
    } catch {
      // Not allowed here: then nothing is kept.
    }
  }

  function takeKept() {
    try {
      const text = localStorage.getItem(KEPT);
      if (text) {
        simulator.page_progress(text);
      }
    } catch {
      // As above.
    }
  }

  // ---- Wiring.

  function wire() {
    const canvas = byId("jigwise");
    // Tab walks through the picture's controls; the simulator says when it is to leave.
    canvas.addEventListener("keydown", (event) => {
      if (event.key === "Tab") {
        event.preventDefault();
      }
    });
    byId("copy-link").addEventListener("click", copyLink);
    byId("save-bench").addEventListener("click", () =>
      download("bench.toml", simulator.page_scenario()),
    );
    byId("open-bench").addEventListener("click", () => byId("bench-file").click());
    byId("bench-file").addEventListener("change", (event) => {
      takeFile(event.target.files[0]);
      event.target.value = "";
    });
    byId("full-screen").addEventListener("click", () => {
      byId("stage").requestFullscreen().then(() => canvas.focus(), () => {
        notice("This browser does not allow full screen here.");
      });
    });
    document.addEventListener("dragover", (event) => event.preventDefault());
    document.addEventListener("drop", (event) => {
      event.preventDefault();
      takeFile(event.dataTransfer.files[0]);
    });
    document.addEventListener("paste", (event) => {
      if (event.target instanceof HTMLInputElement) {
        return;
      }
      const text = event.clipboardData.getData("text/plain").trim();
      if (text.includes("\n") || text.includes("=")) {
        takeText(text.slice(0, LONGEST_BENCH), "pasted bench");
      } else if (text) {
        simulator.page_type("part", text);
      }
    });
    byId("bench-form").addEventListener("submit", (event) => {
      event.preventDefault();
      for (const field of ["part", "frequency"]) {
        const box = byId(`type-${field}`);
        if (box.value.trim()) {
          simulator.page_type(field, box.value);
        }
      }
    });
    const instruments = byId("choose-instrument");
    instruments.replaceChildren(
      ...simulator.page_instruments().map((name) => new Option(name, name)),
    );
    instruments.addEventListener("change", () =>
      simulator.page_instrument(instruments.value),
    );
    byId("calibrate").addEventListener("click", () => simulator.page_calibrate());
    window.addEventListener("hashchange", takeLink);
  }

  function start() {
    window.addEventListener(
      "error",
      () => fail("The simulator has stopped. Load the page again."),
      { once: true },
    );
    byId("version").textContent = `Jigwise ${simulator.page_version()}.`;
    byId("jigwise").addEventListener("webglcontextlost", () =>
      fail("The browser took the picture away. Copy the link to keep this bench, and load the page again."),
    );
    simulator.page_listen((sentences, complaint) => {
      if (!document.documentElement.dataset.ready) {
        byId("loading").hidden = true;
        document.documentElement.dataset.ready = "yes";
        // The canvas takes the focus at its start, and some windows scroll down to it.
        window.scrollTo(0, 0);
      }
      say(sentences, complaint);
    });
    simulator.page_on_leaving(leave);
    simulator.page_on_progress(keep);
    simulator.page_on_reading((address) => window.open(`../${address}`, "_blank"));
    takeKept();
    if (matchMedia("(prefers-color-scheme: dark)").matches) {
      simulator.page_theme("dark");
    }
    if (matchMedia("(prefers-reduced-motion: reduce)").matches) {
      simulator.page_reduce_motion();
    }
    wire();
    takeLink();
  }

  load();
})();
