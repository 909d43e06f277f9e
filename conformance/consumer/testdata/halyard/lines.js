// What is printed of an epoch: a line for the position, one for speed and course, one for the motion.
"use strict";

const DEG = 180 / Math.PI;
const round = (x, digits) => (x == null ? null : Number(x.toFixed(digits)) + 0);
const circle = (x, digits) => {
  if (x == null) return null;
  const r = round((((x * DEG) % 360) + 360) % 360, digits);
  return r >= 360 ? 0 : r;
};

function lines(vessel, epoch, at) {
  const w = {};
  const from = {};
  const prefer = { lat: "GGA", lon: "GGA", fix: "GGA", speed: "VTG", course: "VTG" };
  for (const s of epoch.said) {
    for (const [k, x] of Object.entries(s.values)) {
      if (k in w && from[k] === prefer[k] && s.kind !== prefer[k]) continue;
      w[k] = x;
      from[k] = s.kind;
    }
  }
  const ms = Math.round(at * 1000);
  const time = Math.abs(at * 1000 - ms) < 0.01 ? new Date(ms).toISOString()
    : new Date(Math.floor(at) * 1000).toISOString().slice(0, -5) + (at - Math.floor(at)).toFixed(6).slice(1) + "Z";
  const s = vessel.solve(w);
  const out = [];

  if ("lat" in w) {
    const line = { time, source: from.lat, point: vessel.name, lat: null, lon: null };
    const height = w.altitude != null && w.undulation != null ? w.altitude + w.undulation : null;
    if ("altitude" in w) line.height = null;
    const p = w.lat === null || w.lon === null ? null : vessel.position(w.lat, w.lon, height, s);
    if (p) {
      line.lat = round(p.lat * DEG, 10);
      line.lon = round(p.lon * DEG, 10);
      if (p.height !== null) line.height = round(p.height, 5);
    }
    line.fix = w.fix;
    out.push(line);
  }
  if ("speed" in w) out.push({ time, source: from.speed, speed: round(w.speed, 5), course: circle(w.course, 6) });

  const line = { time, source: ["HDT", "XDR", "ROT"].filter((k) => epoch.said.some((x) => x.kind === k)).join("+"), point: vessel.name };
  if ("heading" in w) {
    line.heading = circle(s.heading, 6);
    line.heading_valid = s.heading != null;
  }
  if ("pitch" in w || (!vessel.square && "roll" in w)) line.pitch = s.pitch == null ? null : round(s.pitch * DEG, 6);
  if ("roll" in w || (!vessel.square && "pitch" in w)) line.roll = s.roll == null ? null : round(s.roll * DEG, 6);
  if ("heave" in w) line.heave = w.heave === null ? null : round(vessel.heave(w.heave, s), 5);
  if ("turning" in w) line.rate_of_turn = w.turning === null ? null : round(w.turning * DEG, 6);
  if (Object.keys(line).length > 3) out.push(line);
  return out;
}

module.exports = { lines };
