#!/usr/bin/env node
// A third correct consumer, in Node, on the npm packages serialport and nmea-simple, the way a web developer would write
// it: events and timers, quaternions of its own, one line for the position and another for the motion of an epoch.
// It shares no code with the others.
//
//   halyard_consumer.js --port PATH --baud 38400 --installation boat.yaml
//
// With - as the port it reads standard input to its end; pauses mean nothing then.
"use strict";

const fs = require("fs");
const path = require("path");
const { createRequire } = require("module");

// Packages that were installed globally are found too.
const roots = [__filename, ...(process.env.NODE_PATH || "").split(path.delimiter).filter(Boolean).map((d) => path.join(d, "x")),
  path.join(process.execPath, "../../lib/node_modules/x"), "/usr/local/lib/node_modules/x"];

function load(name) {
  let last;
  for (const r of roots) {
    try { return createRequire(r)(name); } catch (e) { last = e; }
  }
  throw last;
}

const { Reader } = require("./halyard/reader.js");
const { Cycles } = require("./halyard/cycles.js");
const { Calendar } = require("./halyard/calendar.js");
const { Vessel } = require("./halyard/vessel.js");
const { readSheet } = require("./halyard/sheet.js");
const { lines } = require("./halyard/lines.js");

function fail(text) {
  process.stderr.write(`halyard: ${text}\n`);
  process.exit(1);
}

function options(argv) {
  const o = { baud: 38400, format: "nmea0183" };
  for (let i = 0; i < argv.length; i += 2) {
    const key = argv[i].replace(/^--/, "");
    if (!["port", "baud", "format", "installation"].includes(key) || argv[i + 1] === undefined) fail(`unknown option ${argv[i]}`);
    o[key] = argv[i + 1];
  }
  o.baud = Number(o.baud);
  if (!o.port || !o.installation || !(o.baud > 0)) fail("usage: --port PATH --baud N --installation FILE");
  if (o.format !== "nmea0183") fail(`format ${o.format}: only nmea0183 is known here`);
  return o;
}

function main() {
  if (process.argv[2] === "--probe") { // are the packages there?
    try {
      load("serialport");
      load("nmea-simple");
    } catch (e) {
      fail(e.message.split("\n")[0]);
    }
    return;
  }
  const o = options(process.argv.slice(2));
  let vessel;
  try {
    vessel = new Vessel(readSheet(fs.readFileSync(o.installation, "utf8")));
  } catch (e) {
    fail(`installation ${o.installation}: ${e.message}`);
  }
  const live = o.port !== "-";
  // Written at once, so that nothing is left when the end comes.
  const out = (line) => {
    try { fs.writeSync(1, JSON.stringify(line) + "\n"); } catch (e) { if (e.code === "EPIPE") process.exit(1); else throw e; }
  };
  const calendar = new Calendar(live, (epoch, at) => lines(vessel, epoch, at).forEach(out));
  const cycles = new Cycles(live, 10000 / o.baud, (epoch) => calendar.put(epoch));
  const reader = new Reader(load("nmea-simple"), (said, came) => cycles.add(said, came));
  let over = false;
  const end = () => {
    if (over) return;
    over = true;
    reader.end();
    cycles.end();
    calendar.end();
    process.exit(0);
  };

  if (!live) {
    process.stdin.on("data", (d) => reader.push(d, 0));
    process.stdin.on("end", end);
    return;
  }
  process.on("SIGTERM", end);
  process.on("SIGINT", end);
  const { SerialPort } = load("serialport");
  const port = new SerialPort({ path: o.port, baudRate: o.baud, dataBits: 8, parity: "none", stopBits: 1 }, (e) => {
    if (e) fail(`open ${o.port}: ${e.message}`);
  });
  port.on("data", (d) => {
    const now = performance.now();
    reader.push(d, now);
    cycles.heard(now);
  });
  port.on("close", end);
  // serialport reads on for ever from a line that has hung up, as fast as it can: see whether the port is still there.
  port.on("open", () => {
    const there = () => { try { const s = fs.statSync(o.port); return `${s.ino} ${s.rdev}`; } catch (e) { return ""; } };
    const now = there();
    setInterval(() => { if (there() !== now) end(); }, 100);
  });
  port.on("error", end);
}

main();
