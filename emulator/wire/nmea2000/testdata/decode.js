// Prints what canboatjs makes of lines of SLCAN on standard input: one JSON object a message. With --check nothing.
'use strict';
const path = require('path');

function load(name) {
  try {
    return require(name);
  } catch {
    const root = require('child_process').execSync('npm root -g', { encoding: 'utf8', stdio: ['ignore', 'pipe', 'ignore'] }).trim();
    return require(path.join(root, name));
  }
}

const { FromPgn } = load('@canboat/canboatjs');

if (process.argv[2] !== '--check') {
  const parser = new FromPgn({ useCamel: true, useCamelCompat: false, returnNulls: true });
  const out = [];
  const wrong = (pgn, error) => out.push(JSON.stringify({ error: String(error) }));
  parser.on('error', wrong);
  parser.on('warning', wrong);
  for (const line of require('fs').readFileSync(0, 'latin1').split('\r')) {
    if (line === '') continue;
    const m = /^T([0-9A-F]{8})8([0-9A-F]{16})$/.exec(line);
    if (m === null) {
      out.push(JSON.stringify({ error: 'no frame: ' + line }));
      continue;
    }
    const message = parser.parseString('(1.000000) slcan0 ' + m[1] + '#' + m[2]);
    if (message) out.push(JSON.stringify({ pgn: message.pgn, prio: message.prio, src: message.src, dst: message.dst, fields: message.fields }));
  }
  process.stdout.write(out.join('\n') + '\n');
}
