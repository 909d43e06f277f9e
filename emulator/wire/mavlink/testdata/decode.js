// Prints what node-mavlink makes of a stream of frames on standard input: one JSON object a message. With --registry the
// messages that it knows, with --check nothing.
'use strict';
const path = require('path');

function load(name) {
  try {
    return require(name);
  } catch {
    const root = require('child_process').execSync('npm root -g', { encoding: 'utf8', stdio: ['ignore', 'pipe', 'ignore'] }).trim();
    const top = path.join(root, 'node-mavlink');
    return require(name === 'node-mavlink' ? top : require.resolve(name, { paths: [top] }));
  }
}

const { MavLinkPacketSplitter, MavLinkPacketParser } = load('node-mavlink');
const { minimal, standard, common } = load('mavlink-mappings');
const registry = { ...minimal.REGISTRY, ...standard.REGISTRY, ...common.REGISTRY };
const out = [];

if (process.argv[2] === '--registry') {
  for (const id of Object.keys(registry).map(Number)) {
    const c = registry[id];
    let base = 0;
    for (const f of c.FIELDS) if (!f.extension) base = Math.max(base, f.offset + f.size * Math.max(1, f.length));
    out.push(JSON.stringify({ id, name: c.MSG_NAME, crc_extra: c.MAGIC_NUMBER, base, full: c.PAYLOAD_LENGTH }));
  }
  process.stdout.write(out.join('\n') + '\n');
} else if (process.argv[2] !== '--check') {
  const parser = new MavLinkPacketParser();
  process.stdin.pipe(new MavLinkPacketSplitter()).pipe(parser);
  parser.on('data', (packet) => {
    const c = registry[packet.header.msgid];
    const fields = {};
    if (c) {
      const message = packet.protocol.data(packet.payload, c);
      for (const f of c.FIELDS) fields[f.source] = message[f.name];
    }
    out.push(JSON.stringify({
      version: packet.protocol.constructor.NAME === 'MAV_V1' ? 1 : 2, sequence: packet.header.seq, system: packet.header.sysid,
      component: packet.header.compid, id: packet.header.msgid, name: c ? c.MSG_NAME : '', fields,
    }, (_, v) => (typeof v === 'bigint' ? v.toString() : v)));
  });
  parser.on('end', () => process.stdout.write(out.join('\n') + '\n'));
}
