// Runs the core, in a worker where the browser lets a page from a disk have one, else in the page itself. Stands behind
// core.js, which defines bedwrightCore.
/* global bedwrightCore */
async function bedwrightHost(wasm) {
  const core = await bedwrightCore({wasmBinary: wasm, print: () => {}, printErr: () => {}});
  const encoder = new TextEncoder(), decoder = new TextDecoder();
  const moved = content => {
    const bytes = typeof content === "string" ? encoder.encode(content) : content, at = core._bw_room(bytes.length || 1);
    core.HEAPU8.set(bytes, at);
    return [at, bytes.length];
  };
  // Views of the memory are made anew each time: it may have grown.
  const taken = (at, size) => core.HEAPU8.slice(at, at + size);
  let latest = 0;
  const host = {
    give(name, content) {
      core._bw_give(...moved(name), ...moved(content));
    },
    ask(question) {
      const at = core._bw_ask(...moved(JSON.stringify(question)));
      return JSON.parse(decoder.decode(taken(at, core._bw_answer_size())));
    },
    bytes(name) {
      const at = core._bw_bytes(...moved(name));
      return at ? taken(at, core._bw_bytes_size()) : null;
    },
    memory: () => core.HEAPU8.length,
    /// Makes the set with these values; newer values end it. `tell` gets the scene before the checks are done.
    async run(values, tell) {
      const mine = ++latest, begun = host.ask({do: "begin", values});
      if (!begun.ok) return begun;
      for (let more = true, drawn = false; more;) {
        const step = host.ask({do: "step"});
        if (!step.ok) return step;
        more = step.more;
        if (step.built && !drawn) drawn = true, tell(host.ask({do: "scene"}));
        // Between two steps whoever waits has a turn.
        await new Promise(done => {
          const channel = new MessageChannel();
          channel.port1.onmessage = () => (channel.port1.close(), done());
          channel.port2.postMessage(0);
        });
        if (mine !== latest) return {ok: false, stale: true, problems: []};
      }
      return host.ask({do: "data"});
    },
  };
  return host;
}

if (typeof document === "undefined" && typeof onmessage !== "undefined") {
  let host = null;
  onmessage = async event => {
    const {id, what, args} = event.data;
    try {
      if (what === "start") {
        host = await bedwrightHost(args[0]);
        postMessage({id, result: true});
      } else if (what === "run") {
        postMessage({id, result: await host.run(args[0], scene => postMessage({id, scene}))});
      } else {
        postMessage({id, result: host[what](...args)});
      }
    } catch (error) {
      postMessage({id, error: String(error && error.message || error)});
    }
  };
}
