// The engine's worker: starts the built engine and passes messages. The page
// speaks first, with {kind: "start"}; what comes before the engine listens is
// kept for it.
//
// The engine finds here:
//   dampstone.start            the first message
//   dampstone.listen(handler)  calls handler with each later message
//   dampstone.post(message, transfer)

importScripts("./wasm_exec.js");

const kept = [];
let handler = null;

self.dampstone = {
  start: null,
  listen(h) {
    handler = h;
    while (kept.length > 0) h(kept.shift());
  },
  post(message, transfer) {
    self.postMessage(message, transfer ?? []);
  },
};

self.onmessage = ({ data }) => {
  if (data.kind === "start") {
    dampstone.start = data;
    run();
  } else if (handler) {
    handler(data);
  } else {
    kept.push(data);
  }
};

async function run() {
  try {
    const go = new Go();
    // The heap is small (some 20 MB), so collecting less often costs little
    // and takes a third off the time to the first answer.
    go.env.GOGC = "400";
    const { instance } = await instantiate("./engine.wasm", go.importObject);
    await go.run(instance);
    throw new Error("the engine ended");
  } catch (err) {
    self.postMessage({ kind: "failed", reason: String(err) });
  }
}

async function instantiate(url, imports) {
  const answer = await fetch(url);
  if (!answer.ok) throw new Error(`load engine: status ${answer.status}`);
  if (WebAssembly.instantiateStreaming) {
    try {
      return await WebAssembly.instantiateStreaming(answer.clone(), imports);
    } catch (err) {
      // A proxy may have changed the media type; the bytes may still be right.
      console.warn("stream engine", err);
    }
  }
  return WebAssembly.instantiate(await answer.arrayBuffer(), imports);
}
