// What MiniZinc's web worker asks of the world it runs in, in a thread of Node. Its
// file calls itself a module and is a script, so that it is read and called here.
const { readFileSync } = require("node:fs");
const { dirname } = require("node:path");
const { parentPort, workerData: file } = require("node:worker_threads");

globalThis.postMessage = (message) => parentPort.postMessage(message);
globalThis.addEventListener = (kind, listener) => parentPort.on(kind, (data) => listener({ data }));

new Function("require", "__filename", "__dirname", readFileSync(file, "utf8"))(require, file, dirname(file));
