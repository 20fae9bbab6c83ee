// What a finger does sideways. A swipe across what is tied on goes to the next rod, or the one before: what
// a touch on its name does. The named links stay for those who do not swipe.

const FAR = 48; // CSS px sideways

let begun = null; // where a finger came down

function down(event) {
  begun = event.touches.length === 1 && event.target.closest("#rig") ? event.touches[0] : null;
}

function up(event) {
  if (!begun) return;
  const touch = event.changedTouches[0];
  const x = touch.clientX - begun.clientX;
  const y = touch.clientY - begun.clientY;
  begun = null;
  if (Math.abs(x) < FAR || Math.abs(y) > Math.abs(x) / 2) return;
  const rods = Array.from(document.querySelectorAll(".rods a"));
  const now = rods.findIndex((a) => a.hasAttribute("aria-current"));
  rods[now + (x < 0 ? 1 : -1)]?.click();
}

// A browser leaves a control where it is if its edge shows in a row that is
// wider than the screen.
function show(event) {
  // Not under a finger, or the touch would hit what comes in its place.
  if (event.target.matches?.(".says :focus-visible")) event.target.scrollIntoView({ block: "nearest", inline: "nearest" });
}

/** Starts listening. */
export function start() {
  document.addEventListener("focusin", show);
  document.addEventListener("touchstart", down, { passive: true });
  document.addEventListener("touchend", up, { passive: true });
}
