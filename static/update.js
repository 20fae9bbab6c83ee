// A new release: it is loaded beside the old one, and taken when the app is
// opened the next time, or before that when the person says so.

import { hasUnsaved, setOutdated } from "./screen.js";

function offer(yes) {
  document.getElementById("update").hidden = !yes;
}

// Goes on with the new release: now, or where somebody is writing with the
// next step, so that nothing typed is lost.
function next() {
  if (hasUnsaved()) setOutdated();
  else location.reload();
}

function watch(registration) {
  const take = () => {
    offer(false);
    if (registration.waiting) registration.waiting.postMessage("take over");
    else next(); // another tab has taken it already
  };
  // Without a controller the waiting worker is the first one.
  const waits = () => registration.waiting && navigator.serviceWorker.controller;
  const look = () => { if (waits()) offer(true); };
  const follow = (worker) => worker?.addEventListener("statechange", look);
  if (waits() && !hasUnsaved()) take(); // opened just now: nothing is under way here
  else look();
  follow(registration.installing);
  registration.addEventListener("updatefound", () => follow(registration.installing));
  document.addEventListener("click", (event) => {
    if (event.target.closest?.("[data-update]")) take();
  });
}

/** Registers the service worker and looks for new releases. */
export async function start() {
  if (!navigator.serviceWorker) return; // an insecure address
  const sw = navigator.serviceWorker;
  let controlled = Boolean(sw.controller);
  sw.addEventListener("controllerchange", () => {
    if (!controlled) {
      controlled = true; // the first release, which is what this page is of
      return;
    }
    next();
  });
  try {
    const registration = await sw.register("/sw.js", { updateViaCache: "none" });
    watch(registration);
    // A browser may not look by itself for as long as the app stays open.
    const check = () => registration.update().catch(() => {});
    check();
    window.addEventListener("pageshow", (event) => event.persisted && check());
    document.addEventListener("visibilitychange", () => document.hidden || check());
  } catch (err) {
    console.warn("register service worker", err);
  }
}
