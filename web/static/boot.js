// Starts the app. A plain script, so that its error screen works even where modules or wasm do not.
"use strict";
(() => {
  const VERSION = "__VERSION__";
  const SLOW_AFTER_MS = 10000;
  const WORKER_ANSWER_MS = 3000;
  const RELOADED = "bloomdue-reloaded-for";
  const FETCHED_ANEW = "bloomdue-fetched-anew-for";

  // The error screen comes first: whatever goes wrong below must end in a sentence, not in a blank page.
  let failed = false;

  const element = (name, text, inside) => {
    const made = document.createElement(name);
    if (text) made.textContent = text;
    if (inside) inside.append(made);
    return made;
  };

  // Plain DOM, because the app may be what broke. The panic hook calls this as well.
  window.bloomdueFailed = (message) => {
    console.error("bloomdue failed:", message);
    if (failed) return;
    failed = true;
    const screen = element("main");
    screen.id = "failed";
    screen.className = "sheet failed";
    element("p", "Bloomdue", screen).className = "caps";
    const said = element("div", "", screen);
    said.setAttribute("role", "alert");
    element("h1", "Something went wrong", said);
    element("hr", "", said).className = "scotch";
    element("p", "Nothing recorded is lost by this: what is saved on this device stays as it is.", said);
    const again = element("button", "Reload", screen);
    again.className = "btn main";
    again.type = "button";
    again.addEventListener("click", () => location.reload());
    const mend = element("p", "If it comes back after that: ", screen);
    const link = element("a", "load the program again", mend);
    link.href = "reset.html";
    link.className = "line";
    mend.append(". Your records are not touched.");
    const more = element("details", "", screen);
    element("summary", "What the program says", more);
    element("pre", `${message}\nversion ${VERSION}`, more);
    const put = () => {
      document.getElementById("app")?.remove();
      document.body.append(screen);
      again.focus();
    };
    if (document.body) put();
    else document.addEventListener("DOMContentLoaded", put);
  };

  window.addEventListener("error", (event) => {
    // A browser's own note about a slow layout; nothing of ours has failed.
    if (String(event.message).startsWith("ResizeObserver loop")) return;
    window.bloomdueFailed(event.error?.stack || event.message);
  });
  window.addEventListener("unhandledrejection", (event) => {
    window.bloomdueFailed(event.reason?.stack || String(event.reason));
  });

  // The browser offers to install once, often before the app has started; it is kept for the app to use.
  window.addEventListener("beforeinstallprompt", (event) => {
    event.preventDefault();
    window.bloomdueInstall = event;
    window.dispatchEvent(new Event("bloomdue-install"));
  });
  window.addEventListener("appinstalled", () => {
    window.bloomdueInstall = undefined;
    window.dispatchEvent(new Event("bloomdue-install"));
  });

  window.bloomdueVersion = VERSION;

  setTimeout(() => {
    const slow = document.getElementById("slow");
    if (slow) slow.hidden = false;
  }, SLOW_AFTER_MS);

  // The version of the worker that answers for this page; nothing when none does or it stays silent.
  const workerVersion = () => new Promise((resolve) => {
    const worker = navigator.serviceWorker?.controller;
    if (!worker) return resolve(undefined);
    const line = new MessageChannel();
    line.port1.onmessage = (event) => resolve(event.data);
    setTimeout(() => resolve(undefined), WORKER_ANSWER_MS);
    worker.postMessage("version", [line.port2]);
  });

  // The version that the wasm was packed with.
  const wasmVersion = (module) => {
    const [section] = WebAssembly.Module.customSections(module, "bloomdue-version");
    return section && new TextDecoder().decode(section);
  };

  // A host that names the wrong type for wasm only costs the streaming.
  const compile = async (address) => {
    const answer = await fetch(address);
    if (!answer.ok) throw new Error(`${address}: ${answer.status}`);
    const type = answer.headers.get("content-type") || "";
    if (type.startsWith("application/wasm")) return WebAssembly.compileStreaming(answer);
    return WebAssembly.compile(await answer.arrayBuffer());
  };

  // Parts of two versions must not run together. One reload puts that right, a second would only turn in circles.
  const differs = (what, found) => {
    if (found === undefined || found === VERSION) {
      return false;
    }
    if (sessionStorage.getItem(RELOADED) === `${VERSION} ${found}`) {
      throw new Error(`the page is of version ${VERSION}, the ${what} of ${found}`);
    }
    sessionStorage.setItem(RELOADED, `${VERSION} ${found}`);
    location.reload();
    return true;
  };

  // What the browser keeps under our files' names may be the page of a network that asks for a sign-in. Each file that
  // this page has used is fetched once more, past that store; then the page starts again. Behind a worker all is checked.
  const fetchAnew = async () => {
    if (navigator.serviceWorker?.controller) return false;
    if (sessionStorage.getItem(FETCHED_ANEW) === VERSION) {
      // It did not help this time; the grower's own reload tries again.
      sessionStorage.removeItem(FETCHED_ANEW);
      return false;
    }
    sessionStorage.setItem(FETCHED_ANEW, VERSION);
    const used = performance.getEntriesByType("resource").map((entry) => entry.name);
    const here = new URL("./", location.href).href;
    const ours = new Set(used.filter((name) => name.startsWith(here)));
    for (const name of ["./__GLUE__", "./__WASM__"]) ours.add(new URL(name, here).href);
    const answers = await Promise.all([...ours].map((name) => fetch(name, { cache: "reload" })));
    return answers.every((answer) => answer.ok);
  };

  const start = async () => {
    const [glue, module] = await Promise.all([import("./__GLUE__"), compile("./__WASM__")]);
    if (differs("program", wasmVersion(module) ?? "none")) return;
    if (differs("offline worker", await workerVersion())) return;
    // A second thread for longer work, running the same program; the app asks for it when it needs one.
    window.bloomdueWork = () => {
      const worker = new Worker(new URL("./__WORK__", document.baseURI), { type: "module" });
      worker.postMessage(module);
      return worker;
    };
    await glue.default({ module_or_path: module });
  };

  // Inside a page of another address taps could be led astray, and not every host can send the header that forbids it.
  const isFramedByOthers = () => {
    for (let inner = window; inner !== inner.parent; inner = inner.parent) {
      try {
        if (inner.parent.location.origin !== location.origin) return true;
      } catch {
        return true;
      }
    }
    return false;
  };

  if (isFramedByOthers()) {
    const skeleton = document.getElementById("skeleton");
    skeleton.replaceChildren();
    element("p", "Bloomdue does not run inside a page of another address. ", skeleton);
    const own = element("a", "Open it on its own", skeleton);
    own.className = "btn main";
    own.href = location.href;
    own.target = "_blank";
    return;
  }

  start().catch(async (problem) => {
    if (!failed && await fetchAnew().catch(() => false)) location.reload();
    else window.bloomdueFailed(problem?.stack || String(problem));
  });
})();
