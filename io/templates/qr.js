// QR codes by ISO/IEC 18004: alphanumeric mode, level M, the smallest version that holds the text.

const QR_LETTERS = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:";
// of level M, by version (table 9 of the standard): check words a block, and blocks
const QR_CHECK = [10, 16, 26, 18, 24, 16, 18, 22, 22, 26, 30, 22, 22, 24, 24, 28, 28, 26, 26, 26, 26, 28, 28, 28,
  28, 28, 28, 28, 28, 28, 28, 28, 28, 28, 28, 28, 28, 28, 28, 28];
const QR_BLOCKS = [1, 1, 1, 2, 2, 4, 4, 4, 5, 5, 5, 8, 9, 9, 10, 10, 11, 13, 14, 16, 17, 17, 18, 20, 21, 23, 25, 26,
  28, 29, 31, 33, 35, 37, 38, 40, 43, 45, 47, 49];

const FIELD_POWER = new Uint8Array(255);
const FIELD_LOG = new Uint8Array(256);
for (let i = 0, x = 1; i < 255; i++) {
  FIELD_POWER[i] = x;
  FIELD_LOG[x] = i;
  x <<= 1;
  if (x & 0x100) x ^= 0x11d;
}

function fieldTimes(a, b) {
  return a && b ? FIELD_POWER[(FIELD_LOG[a] + FIELD_LOG[b]) % 255] : 0;
}

function checkWords(words, count) {
  let generator = [1];
  for (let i = 0; i < count; i++) {
    const next = [...generator, 0];
    generator.forEach((g, k) => {
      next[k + 1] ^= fieldTimes(g, FIELD_POWER[i]);
    });
    generator = next;
  }
  const rest = new Array(count).fill(0);
  for (const word of words) {
    const factor = word ^ rest.shift();
    rest.push(0);
    for (let i = 0; i < count; i++) rest[i] ^= fieldTimes(generator[i + 1], factor);
  }
  return rest;
}

function alignmentPlaces(version) {
  if (version === 1) return [];
  const count = Math.floor(version / 7) + 2;
  const gap = version === 32 ? 26 : Math.ceil((version * 4 + 4) / (count * 2 - 2)) * 2;
  const places = [6];
  for (let at = version * 4 + 10; places.length < count; at -= gap) places.splice(1, 0, at);
  return places;
}

function allWords(version) {
  let modules = (16 * version + 128) * version + 64;
  if (version > 1) {
    const count = Math.floor(version / 7) + 2;
    modules -= (25 * count - 10) * count - 55;
    if (version > 6) modules -= 36;
  }
  return modules >> 3;
}

function dataWords(version) {
  return allWords(version) - QR_CHECK[version - 1] * QR_BLOCKS[version - 1];
}

function qrBits(text, version) {
  let bits = "0010" + fixed(text.length, version < 10 ? 9 : version < 27 ? 11 : 13);
  for (let i = 0; i < text.length; i += 2) {
    const first = QR_LETTERS.indexOf(text[i]);
    if (i + 1 < text.length) bits += fixed(first * 45 + QR_LETTERS.indexOf(text[i + 1]), 11);
    else bits += fixed(first, 6);
  }
  return bits;
}

function qrWords(text, version) {
  const room = dataWords(version);
  let bits = qrBits(text, version);
  bits += "0".repeat(Math.min(4, room * 8 - bits.length));
  bits += "0".repeat((8 - (bits.length % 8)) % 8);
  const words = bits.match(/.{8}/g).map((b) => parseInt(b, 2));
  for (let i = 0; words.length < room; i++) words.push(i % 2 ? 0x11 : 0xec);
  const blocks = QR_BLOCKS[version - 1];
  const short = Math.floor(room / blocks);
  const shorts = blocks - (room % blocks);
  const data = [];
  for (let i = 0, at = 0; i < blocks; i++) {
    const size = short + (i < shorts ? 0 : 1);
    data.push(words.slice(at, at + size));
    at += size;
  }
  const check = data.map((block) => checkWords(block, QR_CHECK[version - 1]));
  const out = [];
  for (let i = 0; i <= short; i++) for (const block of data) if (i < block.length) out.push(block[i]);
  for (let i = 0; i < QR_CHECK[version - 1]; i++) for (const block of check) out.push(block[i]);
  return out;
}

const QR_MASKS = [
  (x, y) => (x + y) % 2 === 0,
  (x, y) => y % 2 === 0,
  (x) => x % 3 === 0,
  (x, y) => (x + y) % 3 === 0,
  (x, y) => (Math.floor(x / 3) + Math.floor(y / 2)) % 2 === 0,
  (x, y) => ((x * y) % 2) + ((x * y) % 3) === 0,
  (x, y) => (((x * y) % 2) + ((x * y) % 3)) % 2 === 0,
  (x, y) => (((x + y) % 2) + ((x * y) % 3)) % 2 === 0,
];

function withCheck(value, width, generator) {
  let rest = value;
  for (let i = 0; i < width; i++) rest = (rest << 1) ^ ((rest >>> (width - 1)) * generator);
  return (value << width) | rest;
}

class QrGrid {
  constructor(version) {
    this.version = version;
    this.size = version * 4 + 17;
    this.dark = new Uint8Array(this.size * this.size);
    this.fixed = new Uint8Array(this.size * this.size);
  }

  put(x, y, dark) {
    if (x < 0 || y < 0 || x >= this.size || y >= this.size) return;
    this.dark[y * this.size + x] = dark ? 1 : 0;
    this.fixed[y * this.size + x] = 1;
  }

  patterns() {
    const { size, version } = this;
    for (let i = 0; i < size; i++) {
      this.put(6, i, i % 2 === 0);
      this.put(i, 6, i % 2 === 0);
    }
    for (const [cx, cy] of [[3, 3], [size - 4, 3], [3, size - 4]]) {
      for (let dy = -4; dy <= 4; dy++) {
        for (let dx = -4; dx <= 4; dx++) {
          const ring = Math.max(Math.abs(dx), Math.abs(dy));
          this.put(cx + dx, cy + dy, ring !== 2 && ring !== 4);
        }
      }
    }
    const places = alignmentPlaces(version);
    const end = places.length - 1;
    places.forEach((cy, j) => places.forEach((cx, i) => {
      if ((i === 0 && j === 0) || (i === 0 && j === end) || (i === end && j === 0)) return;
      for (let dy = -2; dy <= 2; dy++) {
        for (let dx = -2; dx <= 2; dx++) this.put(cx + dx, cy + dy, Math.max(Math.abs(dx), Math.abs(dy)) !== 1);
      }
    }));
    this.format(0);
    if (version < 7) return;
    const bits = withCheck(version, 12, 0x1f25);
    for (let i = 0; i < 18; i++) {
      const a = size - 11 + (i % 3);
      const b = Math.floor(i / 3);
      this.put(a, b, (bits >>> i) & 1);
      this.put(b, a, (bits >>> i) & 1);
    }
  }

  format(mask) {
    // level M is 00
    const bits = withCheck(mask, 10, 0x537) ^ 0x5412;
    const { size } = this;
    const bit = (i) => (bits >>> i) & 1;
    for (let i = 0; i < 6; i++) this.put(8, i, bit(i));
    this.put(8, 7, bit(6));
    this.put(8, 8, bit(7));
    this.put(7, 8, bit(8));
    for (let i = 9; i < 15; i++) this.put(14 - i, 8, bit(i));
    for (let i = 0; i < 8; i++) this.put(size - 1 - i, 8, bit(i));
    for (let i = 8; i < 15; i++) this.put(8, size - 15 + i, bit(i));
    this.put(8, size - 8, 1);
  }

  fill(words) {
    const { size } = this;
    let at = 0;
    for (let right = size - 1; right > 0; right -= 2) {
      if (right === 6) right = 5;
      for (let k = 0; k < size; k++) {
        const up = ((right + 1) & 2) === 0;
        const y = up ? size - 1 - k : k;
        for (const x of [right, right - 1]) {
          if (this.fixed[y * size + x]) continue;
          if (at < words.length * 8) this.dark[y * size + x] = (words[at >>> 3] >>> (7 - (at & 7))) & 1;
          at += 1;
        }
      }
    }
  }

  flip(mask) {
    const { size } = this;
    for (let y = 0; y < size; y++) {
      for (let x = 0; x < size; x++) {
        if (!this.fixed[y * size + x] && QR_MASKS[mask](x, y)) this.dark[y * size + x] ^= 1;
      }
    }
  }

  penalty() {
    const { size, dark } = this;
    let points = 0;
    for (const turned of [false, true]) {
      for (let a = 0; a < size; a++) {
        let line = "";
        for (let b = 0; b < size; b++) line += dark[turned ? b * size + a : a * size + b];
        for (const run of line.match(/0+|1+/g)) if (run.length > 4) points += run.length - 2;
        // outside all is light
        const wide = `0000${line}0000`;
        for (let at = wide.indexOf("1011101"); at >= 0;) {
          const clear = wide.startsWith("0000", at - 4) || wide.startsWith("0000", at + 7);
          if (clear) points += 40;
          at = wide.indexOf("1011101", at + (clear ? 7 : 4));
        }
      }
    }
    let sum = 0;
    for (let y = 0; y < size; y++) {
      for (let x = 0; x < size; x++) {
        const d = dark[y * size + x];
        sum += d;
        if (x + 1 < size && y + 1 < size && d === dark[y * size + x + 1] && d === dark[(y + 1) * size + x]
          && d === dark[(y + 1) * size + x + 1]) points += 3;
      }
    }
    return points + Math.floor(Math.abs((sum * 20) / (size * size) - 10)) * 10;
  }
}

// null where no version holds the text
function qrCode(text, wantedMask = -1) {
  let version = 1;
  while (version <= 40 && qrBits(text, version).length > dataWords(version) * 8) version += 1;
  if (version > 40) return null;
  const grid = new QrGrid(version);
  grid.patterns();
  grid.fill(qrWords(text, version));
  let best = wantedMask;
  if (best < 0) {
    let least = Infinity;
    for (let mask = 0; mask < 8; mask++) {
      grid.format(mask);
      grid.flip(mask);
      const points = grid.penalty();
      grid.flip(mask);
      if (points < least) [least, best] = [points, mask];
    }
  }
  grid.format(best);
  grid.flip(best);
  return grid;
}

function qrPath(grid) {
  let path = "";
  for (let y = 0; y < grid.size; y++) {
    for (let x = 0; x < grid.size; x++) {
      if (!grid.dark[y * grid.size + x]) continue;
      let end = x;
      while (end < grid.size && grid.dark[y * grid.size + end]) end += 1;
      path += `M${x} ${y}h${end - x}v1h${x - end}z`;
      x = end;
    }
  }
  return path;
}
