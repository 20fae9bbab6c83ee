// How a person wants things shown, as one text such as
// "lang=es&len=in&temp=f&px=4.02". It is kept three times: in localStorage
// for the page, in a cookie for the server, and in a cache for the service
// worker, which can read neither. The cookie is the newest where they differ,
// since the server may have set it.

const KEY = "prefs";
const YEAR = 365 * 24 * 3600; // seconds

let now = fromCookie() || fromStorage();

function fromCookie() {
  return document.cookie.match(/(?:^|; )prefs=([^;]*)/)?.[1] ?? "";
}

function fromStorage() {
  try {
    return localStorage.getItem(KEY) ?? "";
  } catch {
    return ""; // storage is closed to us, as in some private windows
  }
}

/** The whole text, "" if nothing was ever chosen. */
export function text() {
  return now;
}

/** One value, "" if not chosen. */
export function get(name) {
  return new URLSearchParams(now).get(name) ?? "";
}

/** CSS pixels per millimetre on this screen; NaN if never measured. */
export function pxPerMM() {
  const px = parseFloat(get("px"));
  return px > 0 ? px : NaN;
}

/** Keeps the text in all three places. */
export function keep(text) {
  now = text;
  if (!text) return;
  try {
    localStorage.setItem(KEY, text);
  } catch {
    // The cookie has it still.
  }
  if (fromCookie() !== text) document.cookie = `prefs=${text}; path=/; max-age=${YEAR}; samesite=lax`;
  if (self.caches) {
    caches.open("dampstone-prefs")
      .then((cache) => cache.put("/~prefs", new Response(text)))
      .catch(() => {}); // the worker falls back on the browser's language
  }
}

/** Takes over what an answer of the engine sets. */
export function keepFromHeader(setCookie) {
  const value = setCookie.match(/^prefs=([^;]*)/)?.[1];
  if (value) keep(value);
}

/** Takes over what an answer of the server has set by itself. */
export function keepFromCookie() {
  const value = fromCookie();
  if (value && value !== now) keep(value);
}

keep(now);
