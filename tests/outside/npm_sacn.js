// The sacn package 4.6.2 (npm), asked by test_npm_sacn.py: one JSON question a line, one JSON answer a line.
"use strict";
const { Packet, Receiver, Sender } = require("sacn");

const shown = (packet) => ({
  cid: packet.cid.toString("hex"),
  name: packet.sourceName,
  priority: packet.priority,
  sync: packet.syncUniverse,
  sequence: packet.sequence,
  options: packet.options,
  universe: packet.universe,
  count: packet.propertyValueCount,
  levels: packet.payloadAsBuffer.toString("hex"),
});

const does = {
  /** Octets of a data packet, in hexadecimal. */
  build: ({ cid, ...options }) =>
    new Packet({ ...options, cid: Buffer.from(cid, "hex"), useRawDmxValues: true }).buffer.toString("hex"),

  /** What it makes of octets, or why it refuses them. */
  read: ({ octets }) => {
    try {
      return shown(new Packet(Buffer.from(octets, "hex"), "127.0.0.1"));
    } catch (why) {
      return { refused: why.name };
    }
  },

  /** Sends frames of levels to a port on loopback, then answers. */
  send: async ({ universe, port, cid, name, priority, frames }) => {
    const packet = { sourceName: name, priority, cid: Buffer.from(cid, "hex"), useRawDmxValues: true };
    const sender = new Sender({ universe, port, useUnicastDestination: "127.0.0.1", defaultPacketOptions: packet });
    for (const payload of frames) await sender.send({ payload });
    sender.close();
    return frames.length;
  },

  /** Tells a port, then so many packets of a universe that came there, and what was wrong with any. */
  receive: ({ universe, count }) =>
    new Promise((done) => {
      const receiver = new Receiver({ universes: [universe], port: 0, iface: "127.0.0.1" });
      const packets = [], wrong = [];
      receiver.on("PacketCorruption", (why) => wrong.push(String(why)));
      receiver.on("PacketOutOfOrder", (why) => wrong.push(String(why)));
      receiver.on("error", (why) => wrong.push(String(why)));
      receiver.on("packet", (packet) => {
        if (packets.push(shown(packet)) === count) receiver.close(() => done({ packets, wrong }));
      });
      receiver.socket.on("listening", () => say(receiver.socket.address().port));
    }),
};

const say = (answer) => process.stdout.write(`${JSON.stringify(answer)}\n`);

require("readline")
  .createInterface({ input: process.stdin })
  .on("line", async (line) => {
    const { what, ...asked } = JSON.parse(line);
    say(await does[what](asked));
  });
