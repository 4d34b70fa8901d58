// Takes away the offline worker and its caches. Records and photos live in IndexedDB, which this file never names.
"use strict";
(() => {
  const scope = new URL("./", location.href);
  const ours = `bloomdue ${scope.pathname} `;
  const button = document.getElementById("reset");
  const done = document.getElementById("done");

  // Whatever answers at our address: a network that asks for a sign-in answers everything with its own page.
  const fetched = async (name, options) => {
    const answer = await fetch(new URL(name, scope), options).catch(() => undefined);
    const bytes = answer?.ok ? await answer.arrayBuffer().catch(() => undefined) : undefined;
    if (bytes) return bytes;
    throw new Error(`${name} did not come whole from the program's address. Nothing was changed; try again with a connection, after signing in where the network asks for it`);
  };

  // Fetches every file of the version at our address, each checked by its hash: without them there would be nothing
  // left to start. Asked past the browser's own store, which may hold something else under their names.
  const fetchAll = async () => {
    const text = (bytes) => new TextDecoder().decode(bytes);
    const worker = text(await fetched("sw.js", { cache: "no-store" }));
    const said = (name) => new RegExp(`^const ${name} = (.+);$`, "m").exec(worker)?.[1];
    if (!said("VERSION") || !said("LIST")) {
      throw new Error("something else than the program answers at its address. Nothing was changed; sign in where the network asks for it, then try again");
    }
    const version = JSON.parse(said("VERSION"));
    await Promise.all(JSON.parse(said("LIST")).map(async ([name, integrity]) => {
      const bytes = await fetched(name, integrity ? { cache: "reload", integrity } : { cache: "reload" });
      if (!integrity && !text(bytes).includes(version)) {
        throw new Error("the page at the program's address is of another version. Nothing was changed; try again in a while");
      }
    }));
  };

  const reset = async () => {
    await fetchAll();
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
