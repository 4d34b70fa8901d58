// Keeps one whole version of the app for use without a network.
// Nothing of the growers' data passes through here.
"use strict";

const VERSION = "__VERSION__";
// Pairs of an address relative to this file and the hash its bytes must have ("" for the page itself).
const LIST = __LIST__;

// Caches are shared by everything on this origin, so ours carry the folder they belong to.
const SCOPE = self.registration.scope;
const OURS = `bloomdue ${new URL(SCOPE).pathname} `;
const CACHE = OURS + VERSION;
// This page can take away a broken worker, so no worker may stand before it.
const OUTSIDE = ["reset.html", "reset.js", "sw.js"].map((name) => new URL(name, SCOPE).href);
const KEPT = new Set(LIST.map(([name]) => new URL(name, SCOPE).href));

// A name with a hash in it always means the same bytes, so whatever the browser has of it already will do.
const HASHED = /-[0-9a-f]{16}\.\w+$/;

const ofHash = async (bytes) => {
  const hash = new Uint8Array(await crypto.subtle.digest("SHA-256", bytes));
  return `sha256-${btoa(String.fromCharCode(...hash))}`;
};

// What an earlier version kept of this file, if those are the bytes wanted.
const fromBefore = async (address, integrity) => {
  if (!integrity) return undefined;
  for (const name of await caches.keys()) {
    if (!name.startsWith(OURS) || name === CACHE) continue;
    const answer = await (await caches.open(name)).match(address);
    if (answer && await ofHash(await answer.clone().arrayBuffer()) === integrity) return answer;
  }
  return undefined;
};

const fromNetwork = async (address, integrity, cache) => {
  const answer = await fetch(address, integrity ? { cache, integrity } : { cache });
  if (!answer.ok) throw new Error(`${address}: ${answer.status}`);
  if (!integrity && !(await answer.clone().text()).includes(VERSION)) {
    throw new Error(`${address}: not the page of version ${VERSION}`);
  }
  // A browser opens no page from an answer that was led elsewhere; its bytes are checked, so they are kept as our own.
  return answer.redirected ? new Response(answer.body, { headers: answer.headers }) : answer;
};

const get = async (address, integrity) => {
  const before = await fromBefore(address, integrity);
  if (before) return before;
  if (!HASHED.test(address)) return fromNetwork(address, integrity, "reload");
  try {
    return await fromNetwork(address, integrity, "default");
  } catch {
    // What the browser had may be the page of a network that asks for a sign-in, to be kept for long.
    return fromNetwork(address, integrity, "reload");
  }
};

// All or nothing: a version with a file missing, cut short or of another build never comes into use.
const install = async () => {
  const cache = await caches.open(CACHE);
  try {
    await Promise.all(LIST.map(async ([name, integrity]) => {
      const { href } = new URL(name, SCOPE);
      await cache.put(href, await get(href, integrity));
    }));
  } catch (problem) {
    await caches.delete(CACHE);
    throw problem;
  }
};

const activate = async () => {
  for (const name of await caches.keys()) {
    if (name.startsWith(OURS) && name !== CACHE) await caches.delete(name);
  }
  // On the very first visit the page has come from the network; from here on it is served from the cache.
  await self.clients.claim();
};

const kept = async (address) => (await caches.open(CACHE)).match(address);

const page = async (request) => {
  const url = new URL(request.url);
  url.search = "";
  url.hash = "";
  const ours = url.href === SCOPE || url.href === new URL("index.html", SCOPE).href;
  if (ours) return (await kept(SCOPE)) ?? fetch(request);
  try {
    return await fetch(request);
  } catch {
    // Every screen has its address in the hash, so below our folder there is only the one page.
    return Response.redirect(SCOPE);
  }
};

// A file that another program hands over waits for the page, which takes it in by its own screen and nowhere else.
const SHARED = `shared with bloomdue ${new URL(SCOPE).pathname}`;
const takeShared = async (request) => {
  const given = (await request.formData()).get("file");
  if (given instanceof File) {
    const headers = { "X-File-Name": encodeURIComponent(given.name) };
    await (await caches.open(SHARED)).put(new URL("shared", SCOPE).href, new Response(given, { headers }));
  }
  return Response.redirect(`${SCOPE}#/files/in`, 303);
};

const file = async (request, address) => (await kept(address)) ?? fetch(request);

self.addEventListener("install", (event) => event.waitUntil(install()));
self.addEventListener("activate", (event) => event.waitUntil(activate()));
self.addEventListener("fetch", (event) => {
  const { request } = event;
  const address = request.url.split(/[?#]/)[0];
  if (request.method === "POST" && address === new URL("share", SCOPE).href) {
    event.respondWith(takeShared(request));
    return;
  }
  if (request.method !== "GET" || !address.startsWith(SCOPE) || OUTSIDE.includes(address)) return;
  // Whoever asks past every cache, as the mending page does, means this one too.
  if (request.mode !== "navigate" && request.cache === "reload") return;
  if (request.mode === "navigate") event.respondWith(page(request));
  else if (KEPT.has(address)) event.respondWith(file(request, address));
});
self.addEventListener("message", (event) => {
  if (event.data === "version") event.ports[0]?.postMessage(VERSION);
  // Only the page asks for this, after the grower's tap.
  if (event.data === "skip-waiting") event.waitUntil(self.skipWaiting());
});
