/*
 * series.js - unpacks the series of a page. The format stands in series_code.h.
 *
 * Plain ES2017, no dependencies, nothing asynchronous: a page opened from a stick works in
 * browsers that cannot decompress by themselves.
 *
 *     var level = drawbarSeries.unpack(item, item.overview || item.detail);
 *     level.count, level.width      buckets, and their width in seconds
 *     level.state[k]                0 empty, 1 not available, 2 error, 3 value
 *     level.mean[k], min[k], max[k] NaN unless state is 3
 *     drawbarSeries.line(level, item.hold_s)
 *         points of a line, [{t, mean, min, max}], t the middle of the bucket in seconds;
 *         a point with mean NaN breaks the line: the source was silent for longer than its
 *         values hold, or said that it has no value
 */
(function (root) {
  'use strict';

  var VALUE = 3;

  function fromBase64(text) {
    var digits = 'ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/';
    var values = new Uint8Array(128);
    var end = text.length, n = 0, bits = 0, held = 0, i;
    for (i = 0; i < 64; i++) values[digits.charCodeAt(i)] = i;
    while (end > 0 && text[end - 1] === '=') end--;
    var bytes = new Uint8Array(Math.floor(end * 3 / 4));
    for (i = 0; i < end; i++) {
      bits = (bits << 6 | values[text.charCodeAt(i)]) & 0xffff;
      held += 6;
      if (held >= 8) {
        held -= 8;
        bytes[n++] = bits >> held & 0xff;
      }
    }
    return bytes;
  }

  /* A Huffman code by the lengths of its words (RFC 1951, 3.2.2). */
  function codeOf(lengths) {
    var count = new Uint16Array(16), offset = new Uint16Array(16);
    var symbols = new Uint16Array(lengths.length), i;
    for (i = 0; i < lengths.length; i++) count[lengths[i]]++;
    count[0] = 0;
    for (i = 1; i < 16; i++) offset[i] = offset[i - 1] + count[i - 1];
    for (i = 0; i < lengths.length; i++)
      if (lengths[i]) symbols[offset[lengths[i]]++] = i;
    return {count: count, symbols: symbols};
  }

  function Bits(bytes, at) {
    this.bytes = bytes;
    this.at = at;
    this.held = 0;
    this.bits = 0;
  }

  Bits.prototype.take = function (n) {
    while (this.held < n) {
      if (this.at >= this.bytes.length) throw new Error('series: packed data ends early');
      this.bits |= this.bytes[this.at++] << this.held;
      this.held += 8;
    }
    var value = this.bits & (1 << n) - 1;
    this.bits >>>= n;
    this.held -= n;
    return value;
  };

  Bits.prototype.symbol = function (code) {
    var word = 0, first = 0, index = 0;
    for (var length = 1; length < 16; length++) {
      word |= this.take(1);
      var count = code.count[length];
      if (word - count < first) return code.symbols[index + word - first];
      index += count;
      first = first + count << 1;
      word <<= 1;
    }
    throw new Error('series: packed data is damaged');
  };

  /* RFC 1951, 3.2.5: bases and extra bits of lengths and distances follow a rule. */
  function lengthOf(bits, symbol) {
    if (symbol === 285) return 258;
    if (symbol < 265) return symbol - 254;
    var extra = (symbol - 261) >> 2;
    return (4 + (symbol - 261 & 3) << extra) + 3 + bits.take(extra);
  }

  function distanceOf(bits, symbol) {
    if (symbol < 4) return symbol + 1;
    var extra = (symbol >> 1) - 1;
    return (2 + (symbol & 1) << extra) + 1 + bits.take(extra);
  }

  function fixedCodes() {
    var lengths = new Uint8Array(288), i;
    for (i = 0; i < 288; i++) lengths[i] = i < 144 ? 8 : i < 256 ? 9 : i < 280 ? 7 : 8;
    return [codeOf(lengths), codeOf(new Uint8Array(30).fill(5))];
  }

  function toldCodes(bits) {
    var order = [16, 17, 18, 0, 8, 7, 9, 6, 10, 5, 11, 4, 12, 3, 13, 2, 14, 1, 15];
    var literals = bits.take(5) + 257, distances = bits.take(5) + 1, told = bits.take(4) + 4;
    var lengths = new Uint8Array(19), n = 0, i;
    for (i = 0; i < told; i++) lengths[order[i]] = bits.take(3);
    var code = codeOf(lengths);
    lengths = new Uint8Array(literals + distances);
    while (n < lengths.length) {
      var symbol = bits.symbol(code), value = 0, repeat = 1;
      if (symbol < 16) {
        value = symbol;
      } else if (symbol === 16) {
        value = lengths[n - 1];
        repeat = 3 + bits.take(2);
      } else {
        repeat = symbol === 17 ? 3 + bits.take(3) : 11 + bits.take(7);
      }
      while (repeat-- > 0) lengths[n++] = value;
    }
    return [codeOf(lengths.subarray(0, literals)), codeOf(lengths.subarray(literals))];
  }

  function Output() {
    this.bytes = new Uint8Array(65536);
    this.length = 0;
  }

  Output.prototype.put = function (byte) {
    if (this.length === this.bytes.length) {
      var larger = new Uint8Array(this.length * 2);
      larger.set(this.bytes);
      this.bytes = larger;
    }
    this.bytes[this.length++] = byte;
  };

  function inflateStored(bits, out) {
    bits.bits = bits.held = 0;
    var length = bits.bytes[bits.at] | bits.bytes[bits.at + 1] << 8;
    bits.at += 4;
    while (length-- > 0) out.put(bits.bytes[bits.at++]);
  }

  function inflateCoded(bits, out, codes) {
    for (;;) {
      var symbol = bits.symbol(codes[0]);
      if (symbol === 256) return;
      if (symbol < 256) {
        out.put(symbol);
        continue;
      }
      var length = lengthOf(bits, symbol);
      var from = out.length - distanceOf(bits, bits.symbol(codes[1]));
      if (from < 0) throw new Error('series: packed data is damaged');
      while (length-- > 0) out.put(out.bytes[from++]);
    }
  }

  /* A zlib stream: two bytes of header, deflate blocks, a checksum that is left alone. */
  function inflate(bytes) {
    var bits = new Bits(bytes, 2), out = new Output(), last;
    do {
      last = bits.take(1);
      var kind = bits.take(2);
      if (kind === 0) inflateStored(bits, out);
      else if (kind < 3) inflateCoded(bits, out, kind === 1 ? fixedCodes() : toldCodes(bits));
      else throw new Error('series: packed data is damaged');
    } while (!last);
    return out.bytes.subarray(0, out.length);
  }

  function Reader(bytes, at) {
    this.bytes = bytes;
    this.at = at;
  }

  Reader.prototype.number = function () {
    var value = 0, scale = 1, byte;
    do {
      byte = this.bytes[this.at++];
      value += (byte & 0x7f) * scale;
      scale *= 128;
    } while (byte & 0x80);
    return value;
  };

  Reader.prototype.int32 = function () {
    var b = this.bytes, a = this.at;
    this.at += 4;
    return b[a] | b[a + 1] << 8 | b[a + 2] << 16 | b[a + 3] << 24;
  };

  function coarse(index) {
    return index > 0 ? 2 << index : 0;
  }

  function readSpread(reader, exact) {
    if (exact) return [reader.number(), reader.number()];
    var both = reader.bytes[reader.at++], up = both >> 4, down = both & 15;
    return [up < 15 ? coarse(up) : reader.number(), down < 15 ? coarse(down) : reader.number()];
  }

  function unpack(item, packed) {
    var bytes = inflate(fromBase64(packed.data)), count = packed.count, step = packed.step;
    var means = new Reader(bytes, 1), exact = bytes[0] === 0;
    var spreads = new Reader(bytes, 5 + means.int32());
    var level = {
      count: count,
      width: packed.width_s,
      state: new Uint8Array(count),
      mean: new Float64Array(count).fill(NaN),
      min: new Float64Array(count).fill(NaN),
      max: new Float64Array(count).fill(NaN)
    };
    var k = 0, mean = 0;
    while (k < count) {
      var code = bytes[means.at++];
      if (code > 240) {
        var run = means.number();
        level.state.fill(code - 253, k, k + run);
        k += run;
        continue;
      }
      if (code === 240) mean = means.int32();
      else mean += code & 1 ? -(code + 1) / 2 : code / 2;
      var spread = readSpread(spreads, exact);
      level.state[k] = VALUE;
      level.mean[k] = mean * step;
      level.max[k] = Math.min((mean + spread[0]) * step, Math.max(item.max, mean * step));
      level.min[k] = Math.max((mean - spread[1]) * step, Math.min(item.min, mean * step));
      k++;
    }
    return level;
  }

  function line(level, hold) {
    var points = [], last = -1, broken = false;
    function gap(k) {
      if (points.length > 0 && !isNaN(points[points.length - 1].mean))
        points.push({t: (k + 0.5) * level.width, mean: NaN, min: NaN, max: NaN});
    }
    for (var k = 0; k < level.count; k++) {
      if (level.state[k] === 1 || level.state[k] === 2) broken = true;
      if (level.state[k] !== VALUE) continue;
      /* neighbours always belong together, however wide the buckets */
      if (broken || (k - last > 1 && (k - last) * level.width > hold + level.width)) gap(last + 1);
      points.push({t: (k + 0.5) * level.width, mean: level.mean[k], min: level.min[k], max: level.max[k]});
      last = k;
      broken = false;
    }
    return points;
  }

  /* A text that was packed by itself. */
  function text(packed) {
    var bytes = inflate(fromBase64(packed)), all = '';
    for (var i = 0; i < bytes.length; i++) all += String.fromCharCode(bytes[i]);
    return all;
  }

  root.drawbarSeries = {unpack: unpack, line: line, text: text};
})(typeof module === 'object' ? module.exports : window);
