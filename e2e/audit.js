// Looks over the screen that stands there, with every fold open, and reports
// what a person could not read, tap or find. Each finding is
// {kind, where, how}; the colours come as they are, for the caller to weigh.

(width) => {
  const doc = document;
  const found = [];
  const root = doc.documentElement;
  for (const d of doc.querySelectorAll("details")) d.open = true;

  const name = (el) => {
    const text = (el.getAttribute("aria-label") ?? el.textContent ?? "").replace(/\s+/g, " ").trim().slice(0, 40);
    const id = el.id ? `#${el.id}` : el.getAttribute("name") ? `[name=${el.getAttribute("name")}]` : el.classList.length ? `.${[...el.classList].join(".")}` : "";
    return `${el.tagName.toLowerCase()}${id} "${text}"`;
  };
  const say = (kind, el, how = "") => found.push({ kind, where: typeof el === "string" ? el : name(el), how });
  const shown = (el) => el.checkVisibility({ visibilityProperty: true, contentVisibilityAuto: true });
  const scrolls = (el) => {
    for (let e = el; e && e !== doc.body; e = e.parentElement) if (/auto|scroll/.test(getComputedStyle(e).overflowX)) return e;
    return null;
  };
  const BY_KEY = `.skip, .sync[data-exchange="none"]`; // shown while they have the focus
  const hidden = (el) => el.closest(".unseen") !== null || (el.closest(BY_KEY) && doc.activeElement !== el.closest(BY_KEY));

  // ---- the page as a whole ----

  if (root.scrollWidth > width) {
    const widest = [...doc.body.querySelectorAll("*")].filter((el) => !scrolls(el) && !hidden(el)).sort((a, b) => b.getBoundingClientRect().right - a.getBoundingClientRect().right)[0];
    say("the page is wider than the screen", widest, `${root.scrollWidth} px`);
  }
  const ids = new Map();
  for (const el of doc.querySelectorAll("[id]")) ids.set(el.id, (ids.get(el.id) ?? 0) + 1);
  for (const [id, n] of ids) if (n > 1) say("an id stands for several elements", `#${id}`, `${n}`);
  for (const attribute of ["aria-labelledby", "aria-describedby", "for"]) {
    for (const el of doc.querySelectorAll(`[${attribute}]`)) {
      for (const id of el.getAttribute(attribute).split(/\s+/)) if (!ids.has(id)) say(`${attribute} names nothing`, el, id);
    }
  }
  const headings = [...doc.querySelectorAll("h1, h2, h3, h4, h5, h6")].filter(shown);
  const first = headings.filter((h) => h.tagName === "H1").length;
  if (first !== 1) say("not one h1", "h1", `${first}`);
  let before = 0;
  for (const h of headings) {
    const level = Number(h.tagName[1]);
    if (level > before + 1) say("a heading skips a level", h, `h${level} after ${before ? `h${before}` : "nothing"}`);
    before = level;
  }
  for (const img of doc.querySelectorAll("svg:not([aria-hidden=true]), img")) {
    if (!img.closest("[aria-hidden=true]") && !img.getAttribute("aria-label") && !img.querySelector(":scope > title") && !img.getAttribute("alt")) say("a picture without a name", img, img.parentElement.className);
  }

  // ---- texts ----

  const colours = new Map();
  const layersOf = (el) => {
    const layers = [];
    for (let e = el; e; e = e.parentElement) {
      const style = getComputedStyle(e);
      if (style.backgroundImage !== "none") say("text over a picture", el, style.backgroundImage.slice(0, 60));
      layers.push(style.backgroundColor);
    }
    return layers;
  };
  const opacityOf = (el) => {
    let o = 1;
    for (let e = el; e; e = e.parentElement) o *= Number(getComputedStyle(e).opacity);
    return o;
  };
  const weigh = (el, colour, layers) => {
    const key = JSON.stringify([colour, opacityOf(el), layers]);
    if (!colours.has(key)) colours.set(key, { where: name(el), colour, opacity: opacityOf(el), layers });
  };
  // Shapes drawn before a text of the same picture lie under it.
  const shapesUnder = (text) => {
    const at = text.getBoundingClientRect();
    const x = at.x + at.width / 2, y = at.y + at.height / 2;
    return [...text.ownerSVGElement.querySelectorAll("rect, path, circle, ellipse, polygon")].filter((s) => {
      const r = s.getBoundingClientRect();
      return text.compareDocumentPosition(s) & Node.DOCUMENT_POSITION_PRECEDING && r.left <= x && x <= r.right && r.top <= y && y <= r.bottom && getComputedStyle(s).fill !== "none";
    }).reverse().map((s) => getComputedStyle(s).fill);
  };

  const walker = doc.createTreeWalker(doc.body, NodeFilter.SHOW_TEXT);
  for (let node = walker.nextNode(); node; node = walker.nextNode()) {
    const el = node.parentElement;
    if (!node.data.trim() || /^(SCRIPT|OPTION|TITLE|STYLE)$/i.test(el.tagName) || !shown(el) || hidden(el)) continue;
    const range = doc.createRange();
    range.selectNodeContents(node);
    const boxes = [...range.getClientRects()].filter((r) => r.width > 0 && r.height > 0);
    if (boxes.length === 0) continue;
    const style = getComputedStyle(el);
    if (el instanceof SVGElement) weigh(el, style.fill, [...shapesUnder(el), ...layersOf(el.ownerSVGElement)]);
    else weigh(el, style.color, layersOf(el));
    if (el instanceof SVGElement) continue;
    const left = Math.min(...boxes.map((r) => r.left)), right = Math.max(...boxes.map((r) => r.right));
    if (!scrolls(el) && (left < -1 || right > width + 1)) say("text beyond the screen", el, `${Math.round(left)} to ${Math.round(right)} px`);
    const frame = el.closest("a, button, summary, label, th, td, .card, .fed, .caution, .error, .flash");
    if (frame && getComputedStyle(frame).display !== "inline" && !(scrolls(el) && !scrolls(frame))) {
      const r = frame.getBoundingClientRect();
      if (left < r.left - 1.5 || right > r.right + 1.5) say("text spills out of its frame", frame, `${Math.round(right - r.right)} px`);
    }
  }
  for (const el of doc.querySelectorAll("input, select, textarea")) {
    if (!shown(el) || /hidden|checkbox|radio|range|color/.test(el.type)) continue;
    const style = getComputedStyle(el);
    weigh(el, style.color, layersOf(el));
    if (el.placeholder) weigh(el, getComputedStyle(el, "::placeholder").color, layersOf(el));
  }

  for (const el of doc.body.querySelectorAll("*")) {
    if (!shown(el) || hidden(el) || el instanceof SVGElement || !el.textContent.trim() || /^(OPTION|SELECT|TEXTAREA)$/.test(el.tagName)) continue;
    const style = getComputedStyle(el);
    const cuts = (o) => o === "hidden" || o === "clip";
    if (style.textOverflow === "ellipsis" || style.webkitLineClamp !== "none") say("text may be cut short", el, style.textOverflow);
    if (cuts(style.overflowX) && el.scrollWidth > el.clientWidth + 1) say("text is cut off at the side", el, `${el.scrollWidth} px in ${el.clientWidth}`);
    if (cuts(style.overflowY) && el.scrollHeight > el.clientHeight + 1) say("text is cut off below", el, `${el.scrollHeight} px in ${el.clientHeight}`);
  }

  // ---- things to tap ----

  const inline = new Set();
  const SIDE = 48 - 0.5; // CSS px
  for (const el of doc.querySelectorAll("a[href], button, input:not([type=hidden]), select, textarea, summary, label.chip")) {
    if (el.matches("label.chip input")) continue; // fills its label
    if (!shown(el)) continue;
    if (el.matches(BY_KEY)) el.focus();
    const r = el.getBoundingClientRect();
    if (el.matches("a") && getComputedStyle(el).display === "inline" && [...el.parentElement.childNodes].some((n) => n !== el && n.nodeType === Node.TEXT_NODE && n.data.trim())) {
      inline.add(name(el)); // part of a sentence
    } else if (r.width < SIDE || r.height < SIDE) {
      say("too small to tap", el, `${Math.round(r.width)} x ${Math.round(r.height)} px`);
    }
    if (el.matches(BY_KEY)) el.blur();
  }

  // ---- what lies over the screen ----

  const nav = doc.getElementById("nav");
  if (nav && getComputedStyle(nav).position === "fixed") {
    window.scrollTo(0, root.scrollHeight);
    const end = doc.getElementById("main").getBoundingClientRect().bottom, top = nav.getBoundingClientRect().top;
    if (end > top + 1) say("the end of the screen lies under the navigation", "#nav", `${Math.round(end - top)} px`);
    window.scrollTo(0, 0);
    const strip = doc.querySelector(".strip");
    const over = nav.getBoundingClientRect().height + (strip && getComputedStyle(strip).position === "sticky" ? strip.getBoundingClientRect().height : 0);
    if (over > window.visualViewport.height * window.visualViewport.scale / 2) say("more than half of the screen is covered", "#nav and .strip", `${Math.round(over)} px`);
  }
  return { found, colours: [...colours.values()], inline: [...inline], lang: root.lang };
}
