// How a person wants things shown, as one text such as
// "lang=es&len=in&temp=f&px=4.02". It is in a cookie, which the server reads
// and may set, and in a cache for the service worker, which cannot read it.

const YEAR = 365 * 24 * 3600; // seconds

let now = fromCookie();

function fromCookie() {
  return document.cookie.match(/(?:^|; )prefs=([^;]*)/)?.[1] ?? "";
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

/** Keeps the text in both places; "" changes nothing. */
export function keep(text) {
  if (!text) return;
  now = text;
  document.cookie = `prefs=${text}; path=/; max-age=${YEAR}; samesite=lax`;
  self.caches?.open("dampstone-prefs")
    .then((cache) => cache.put("/~prefs", new Response(text)))
    .catch(() => {}); // the worker falls back on the browser's language
}

/** Takes over what an answer of the server has set by itself. */
export function keepFromCookie() {
  if (fromCookie() !== now) keep(fromCookie());
}

keep(now);
