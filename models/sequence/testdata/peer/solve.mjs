// node solve.mjs SOLVER SECONDS MODEL DATA: lets one of MiniZinc's solvers search
// and prints as one line of JSON what it found. SOLVER+free lets it go its own way
// and not only by the model's word. With only the word "solvers" it prints which
// there are.
//
// The npm package has two doors: the one for Node calls a program that would have to
// be installed, the one for browsers runs MiniZinc and its solvers as WebAssembly in
// a web worker. This uses the second one's worker; worker.cjs is the little of a web
// worker that it asks for.
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { dirname, join } from "node:path";
import { Worker } from "node:worker_threads";

const dist = dirname(createRequire(import.meta.url).resolve("minizinc/minizinc-worker.js"));

// What a solver may take beyond its time to say its last word.
const grace = 3000;

function worker() {
  const it = new Worker(new URL("./worker.cjs", import.meta.url), {
    workerData: join(dist, "minizinc-worker.js"),
    resourceLimits: { maxOldGenerationSizeMb: 3000 },
  });
  it.postMessage({ wasmURL: join(dist, "minizinc.wasm"), dataURL: join(dist, "minizinc.data") });
  return new Promise((resolve, reject) => {
    it.once("error", reject);
    it.once("message", () => resolve(it));
  });
}

async function solve(solver, seconds, model, data) {
  const it = await worker();
  const began = performance.now();
  const limit = seconds * 1000;
  const said = { solver, status: "UNKNOWN", trace: [], solution: null, error: "" };
  const [id, free] = solver.split("+");
  const args = ["-i", "--output-mode", "json", "--solver", id, "--time-limit", String(Math.round(limit)),
    ...(free ? ["-f"] : []), "shop.mzn", "data.json"];
  await new Promise((resolve) => {
    const end = setTimeout(resolve, limit + grace);
    const stop = () => { clearTimeout(end); resolve(); };
    it.on("error", (e) => { said.error ||= String(e); stop(); });
    it.on("message", (m) => {
      const at = (performance.now() - began) / 1000;
      const late = at > seconds;
      if (m.type === "solution" && !late) {
        said.solution = m.output.json;
        said.trace.push({ seconds: at, objective: m.output.json.objective });
      } else if (m.type === "status" && !late) said.status = m.status;
      else if (m.type === "stdout" && m.value.startsWith("=====UNSATISFIABLE") && !late) said.status = "UNSATISFIABLE"; // as Chuffed says it in plain words
      else if (m.type === "error") said.error ||= `${m.what}: ${m.message}`;
      else if (m.type === "exit") {
        if (m.code !== 0) said.error ||= `exit status ${m.code} ${m.stderr ?? m.message ?? ""}`;
        stop();
      }
    });
    it.postMessage({ jsonStream: true, args, files: { "shop.mzn": readFileSync(model, "utf8"), "data.json": readFileSync(data, "utf8") } });
  });
  await it.terminate();
  return said;
}

async function solvers() {
  const it = await worker();
  const known = await new Promise((resolve) => {
    it.on("message", (m) => { if (m.type === "exit") resolve(JSON.parse(m.stdout)); });
    it.postMessage({ jsonStream: false, args: ["--solvers-json"] });
  });
  await it.terminate();
  return known.map(({ id, version, tags }) => ({ id, version, tags }));
}

const [first, seconds, model, data] = process.argv.slice(2);
const answer = first === "solvers" ? await solvers() : await solve(first, Number(seconds), model, data);
console.log(JSON.stringify(answer));
