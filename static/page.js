// The page's script. Screens are HTML and work without it; with it they come
// from the engine on this device, need no network and keep their place.

import * as ask from "./ask.js";
import * as live from "./live.js";
import * as screen from "./screen.js";
import * as size from "./size.js";
import * as storage from "./storage.js";
import * as swipe from "./swipe.js";
import * as sync from "./sync.js";
import * as update from "./update.js";

document.documentElement.dataset.script = "on";
size.start();
storage.start();
sync.start();
swipe.start();
live.start();
screen.start();
ask.start(import.meta.url);
update.start();
