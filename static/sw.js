// The service worker: keeps one release and serves it. The first line, put
// before this text by the server, says what is in the release. Nothing is
// kept in variables, since a browser may stop a worker at any moment, and no
// screen waits for the network where the cache has it.
//
// A person's entries are not here at all (they are in the page's database),
// and how they want things shown is in a cache of its own that is never
// deleted.

const OURS = "dampstone-";
const CACHE = OURS + RELEASE.version;
const PREFS = OURS + "prefs";

// All or nothing: a release that cannot be had whole is not installed, and
// the one before stays.
async function install() {
  if (RELEASE.withdrawn) {
    await self.skipWaiting();
    return;
  }
  const answers = await Promise.all(RELEASE.files.map(fetchFile));
  const cache = await caches.open(CACHE);
  try {
    await Promise.all(answers.map((answer, i) => keep(cache, RELEASE.files[i].url, answer)));
  } catch (err) {
    await caches.delete(CACHE); // most likely the device is full
    throw err;
  }
  // Where no other release is kept there is nobody to ask: the worker before,
  // if there is one, is of a release that was withdrawn and keeps nothing.
  if (!(await caches.keys()).some((name) => isRelease(name) && name !== CACHE)) await self.skipWaiting();
}

// The prerendered screens come in one file, in which they pack far better.
async function keep(cache, url, answer) {
  if (url !== RELEASE.pages) return cache.put(url, answer);
  const headers = new Headers(answer.headers);
  for (const name of ["Content-Encoding", "Content-Length", "ETag"]) headers.delete(name);
  headers.set("Content-Type", "text/html; charset=utf-8");
  const pages = Object.entries(await answer.json());
  await Promise.all(pages.map(([path, html]) => cache.put(path, new Response(html, { headers }))));
}

function isRelease(name) {
  return name.startsWith(OURS) && name !== PREFS;
}

async function fetchFile(file) {
  if (!file.integrity) {
    // The name tells the content, so a copy from the release before will do.
    const kept = await caches.match(file.url);
    if (kept) return kept;
  }
  const answer = await fetch(new Request(file.url, {
    cache: file.integrity ? "no-cache" : "default",
    credentials: "same-origin",
    integrity: file.integrity ?? "",
  }));
  if (!answer.ok || answer.redirected) throw new Error(`install ${file.url}: status ${answer.status}`);
  return answer;
}

async function activate() {
  const names = await caches.keys();
  await Promise.all(names.filter((n) => isRelease(n) && n !== CACHE).map((n) => caches.delete(n)));
  if (RELEASE.withdrawn) {
    // A page that registers it again just now brings it back. It then stays
    // and lets everything through to the network.
    await self.registration.unregister();
    return;
  }
  await self.clients.claim();
}

// The prerendered document for a navigation: the key in the person's language
// and units, or the frame that the engine fills.
async function screen(request) {
  const cache = await caches.open(CACHE);
  const prefs = await readPrefs();
  const shells = RELEASE.shells;
  const langs = shells.filter((u) => u.startsWith("/shell/blank/")).map((u) => u.slice("/shell/blank/".length));
  const wishes = [prefs.get("lang"), ...navigator.languages.map((l) => l.split("-")[0].toLowerCase())];
  const lang = wishes.find((l) => langs.includes(l)) ?? (langs.includes("en") ? "en" : langs[0]);
  let path = `/shell/blank/${lang}`;
  if (new URL(request.url).pathname === "/") {
    const bank = `/shell/bank/${lang}-${prefs.get("len") === "in" ? "in" : "mm"}`;
    if (shells.includes(bank)) path = bank;
  }
  return (await cache.match(path)) ?? fetch(request);
}

async function readPrefs() {
  try {
    const cache = await caches.open(PREFS);
    const kept = await cache.match("/~prefs");
    return new URLSearchParams(kept ? await kept.text() : "");
  } catch {
    return new URLSearchParams();
  }
}

async function file(request) {
  const cache = await caches.open(CACHE);
  return (await cache.match(request.url)) ?? fetch(request);
}

self.addEventListener("install", (event) => event.waitUntil(install()));

self.addEventListener("activate", (event) => event.waitUntil(activate()));

self.addEventListener("message", (event) => {
  if (event.data === "take over") event.waitUntil(self.skipWaiting());
});

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (RELEASE.withdrawn || request.method !== "GET" || url.origin !== self.location.origin) return;
  if (request.mode === "navigate") {
    if (RELEASE.serverOnly.some((p) => url.pathname === p || url.pathname.startsWith(p + "/"))) return;
    event.respondWith(screen(request));
    return;
  }
  if (RELEASE.files.some((f) => f.url === url.pathname + url.search)) event.respondWith(file(request));
});
