// Takes away the offline worker and its caches. Records and photos live in IndexedDB, which this file never names.
"use strict";
(() => {
  const scope = new URL("./", location.href);
  const ours = `bloomdue ${scope.pathname} `;
  const button = document.getElementById("reset");
  const done = document.getElementById("done");

  const reset = async () => {
    // First see whether the program can be fetched at all: without it there would be nothing left to start.
    const answer = await fetch("sw.js", { cache: "no-store" }).catch(() => undefined);
    if (!answer?.ok) throw new Error("the program's address cannot be reached; try again with a connection");
    for (const registration of await (navigator.serviceWorker?.getRegistrations() ?? [])) {
      if (registration.scope === scope.href) await registration.unregister();
    }
    for (const name of await (self.caches?.keys() ?? [])) {
      if (name.startsWith(ours)) await caches.delete(name);
    }
    sessionStorage.clear();
  };

  button.disabled = false;
  button.addEventListener("click", async () => {
    button.disabled = true;
    done.textContent = "Working …";
    try {
      await reset();
      done.textContent = "Done. Opening Bloomdue …";
      location.replace("./");
    } catch (problem) {
      button.disabled = false;
      done.textContent = `That did not work: ${problem.message}. Your records are not touched.`;
    }
  });
})();
