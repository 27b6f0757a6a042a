// The browser's core under node: what core.js and host.js make of it, given its bytes by hand.
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { join } from "node:path";

export async function coreHost(coreFolder, sourceFolder) {
  const code = readFileSync(join(coreFolder, "core.js"), "utf8") + "\n" + readFileSync(join(sourceFolder, "src/browser/host.js"), "utf8");
  const made = new Function("require", "__dirname", "__filename", code + "\nreturn bedwrightHost;");
  const host = await made(createRequire(import.meta.url), coreFolder, join(coreFolder, "core.js"))(readFileSync(join(coreFolder, "core.wasm")));
  host.give("three.min.js", readFileSync("/usr/share/javascript/three/three.min.js"));
  return host;
}

/// Opens a kit of a folder with the files that it names.
export function openKit(host, text, folder) {
  const kit = JSON.parse(text), names = [kit.frame?.dome?.points, kit.publish?.licence_file, ...(kit.bed_map?.files ?? [])].filter(Boolean);
  for (const name of names) host.give(name, readFileSync(join(folder, name)));
  host.give("kit.json", text);
  return host.ask({ do: "open" });
}

/// The whole way, at once.
export function visited(host, values) {
  const begun = host.ask({ do: "begin", values });
  if (!begun.ok) return begun;
  for (;;) {
    const step = host.ask({ do: "step" });
    if (!step.ok) return step;
    if (!step.more) return host.ask({ do: "data" });
  }
}

/// Numbers from a seed, the same everywhere (xorshift32).
export function randomFrom(seed) {
  let state = seed >>> 0 || 1;
  return () => {
    state ^= state << 13, state >>>= 0, state ^= state >>> 17, state ^= state << 5, state >>>= 0;
    return state / 4294967296;
  };
}
