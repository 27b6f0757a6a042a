// The core in WebAssembly against the native program: same kit, same bytes in every file of the set.
//   node --no-experimental-fetch same_as_native.mjs PROGRAM CORE SOURCE kits            every demo kit
//   node --no-experimental-fetch same_as_native.mjs PROGRAM CORE SOURCE random COUNT    north-bench with random values
//   node --no-experimental-fetch same_as_native.mjs PROGRAM CORE SOURCE memory COUNT    what so many changes take for good
// WebAssembly knows no directed rounding, which exact arithmetic leans on: this is what shows that none is missed.
import { spawnSync } from "node:child_process";
import { mkdtempSync, readdirSync, readFileSync, rmSync, statSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, relative } from "node:path";
import { coreHost, openKit, randomFrom, visited } from "./core.mjs";

const [program, core, source, what, count = "0"] = process.argv.slice(2);
const kits = join(source, "params/kits"), work = mkdtempSync(join(tmpdir(), "same-"));
let wrong = 0;
const say = (ok, words) => (ok || ++wrong, console.log((ok ? "ok: " : "WRONG: ") + words));

function under(folder) {
  return readdirSync(folder).flatMap(name => (statSync(join(folder, name)).isDirectory() ? under(join(folder, name)) : [join(folder, name)]));
}

/// The native program's files, or null where it writes none.
function native(kit, values) {
  const out = join(work, "set");
  rmSync(out, { recursive: true, force: true });
  const sets = values.flatMap(([pointer, value]) => ["--set", pointer + "=" + value]);
  const run = spawnSync(program, ["make", kit, "--out", out, "--rebuild", ...sets], { encoding: "utf8" });
  if (run.status > 1) return { refused: run.stderr };
  if (run.status === 1) return { errors: true };
  return { files: new Map(under(out).map(path => [relative(out, path), readFileSync(path)])) };
}

function compared(host, name, kit, values) {
  const theirs = native(kit, values), ours = visited(host, values);
  if (theirs.refused) return say(!ours.ok && !ours.stale && ours.problems.every(p => theirs.refused.includes(p.message)), name + " is refused by both, in the same words");
  if (!ours.ok) return say(false, name + ": " + JSON.stringify(ours.problems));
  const list = host.ask({ do: "files" }).files;
  if (theirs.errors) return say(ours.verdict.errors && list.length === 0, name + " has findings at error level for both");
  const differ = [...theirs.files].filter(([file, bytes]) => {
    const own = host.bytes("set/" + file);
    return !own || Buffer.compare(Buffer.from(own), bytes) !== 0;
  }).map(([file]) => file);
  say(differ.length === 0 && list.length === theirs.files.size, `${name}: ${theirs.files.size} files` + (differ.length ? " differ: " + differ.join(", ") : ", the same bytes"));
  return theirs.files.size;
}

try {
  const host = await coreHost(core, source);
  if (what === "kits") {
    for (const file of readdirSync(kits).filter(f => f.endsWith(".json")).sort()) {
      const opened = openKit(host, readFileSync(join(kits, file), "utf8"), kits);
      if (!opened.ok) say(false, file + ": " + JSON.stringify(opened.problems));
      else compared(host, file, join(kits, file), []);
    }
  } else if (what === "memory") {
    // The heap grows by a fifth or by 16 MiB at a time while it finds its size; once warm it may take one such step, not more.
    const opened = openKit(host, readFileSync(join(kits, "shared-bench.json"), "utf8"), kits);
    if (!opened.ok) say(false, JSON.stringify(opened.problems));
    const change = i => visited(host, [["/frame/dome/radius_mm", String(1500 + ((i * 53) % 900))]]);
    for (let i = 0; i < +count; ++i) change(i);
    const warm = host.memory();
    for (let i = 0; i < +count; ++i) if (!change(i + +count).ok) say(false, "change " + i);
    say(host.memory() <= Math.max(1.25 * warm, warm + 2 ** 24) && host.memory() < 2 ** 27, `${count} changes after ${count} others: ${warm} to ${host.memory()} bytes`);
  } else {
    const seed = 20261126, random = randomFrom(seed), kit = JSON.parse(readFileSync(join(kits, "north-bench.json"), "utf8"));
    kit.open = ["/frame/dome/radius_mm", "/frame/dome/crown", "/frame/sheet_thickness_mm", "/frame/hole_pattern/pitch_mm", "/frame/hole_pattern/diameter_mm", "/frame/dome/apex_mm", "/carriages/spacing_mm", "/parts/0/thickness_mm", "/parts/0/boss_side", "/parts/1/thickness_mm", "/printer/compensation/hole_mm"].map(pointer => ({ pointer }));
    const file = join(work, "kit.json");
    writeFileSync(file, JSON.stringify(kit, null, 2));
    openKit(host, JSON.stringify(kit, null, 2), kits);
    console.log("seed " + seed);
    const within = (low, high, places) => (low + (high - low) * random()).toFixed(places);
    for (let i = 0; i < +count; ++i) {
      const values = [["/frame/dome/radius_mm", within(600, 20000, 1)], ["/frame/dome/crown", random() < 0.8 ? "up" : "down"]];
      if (random() < 0.5) values.push(["/frame/sheet_thickness_mm", within(1.2, 4, 2)]);
      if (random() < 0.5) values.push(["/frame/hole_pattern/pitch_mm", `[${within(185, 205, 2)}, ${within(140, 160, 2)}]`]);
      if (random() < 0.3) values.push(["/frame/hole_pattern/diameter_mm", within(4.3, 5.5, 2)]);
      if (random() < 0.3) values.push(["/frame/dome/apex_mm", `[${within(-20, 20, 1)}, ${within(-20, 20, 1)}]`]);
      if (random() < 0.3) values.push(["/carriages/spacing_mm", within(70, 110, 1)]);
      if (random() < 0.3) values.push(["/parts/0/thickness_mm", within(4.5, 9, 2)]);
      if (random() < 0.2) values.push(["/parts/0/boss_side", "up"]);
      if (random() < 0.3) values.push(["/parts/1/thickness_mm", within(4, 12, 2)]);
      if (random() < 0.2) values.push(["/printer/compensation/hole_mm", within(-0.1, 0.2, 3)]);
      compared(host, `${i + 1}: ${values.map(v => v[0].split("/").slice(-2).join("/") + " " + v[1]).join(", ")}`, file, values);
    }
  }
} finally {
  rmSync(work, { recursive: true, force: true });
}
process.exit(wrong ? 1 : 0);
