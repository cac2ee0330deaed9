// The record code: what was done as a short text. Its twin is io/record_code.py, which tells the form.

const ALPHABET = "0123456789ABCDEFGHJKMNPQRSTVWXYZ";
const CODE_EPOCH = Date.UTC(2020, 0, 1);
const GENERATOR = [0x3b6a57b2, 0x26508e6d, 0x1ea119fa, 0x3d4233dd, 0x2a1462b3];

function gamma(value) {
  const digits = value.toString(2);
  return "0".repeat(digits.length - 1) + digits;
}

function fixed(value, width) {
  return value.toString(2).padStart(width, "0");
}

function checkLetters(values) {
  let state = 1;
  for (const value of [...values, 0, 0, 0, 0, 0, 0]) {
    const top = state >>> 25;
    state = ((state & 0x1ffffff) << 5) ^ value;
    GENERATOR.forEach((row, i) => {
      if ((top >>> i) & 1) state ^= row;
    });
  }
  state ^= 0x2bc830a3;
  return [25, 20, 15, 10, 5, 0].map((shift) => (state >>> shift) & 31);
}

// done: {cut: [bool a sheet], broken: Map index of panel -> index of work, offcuts: [null | kept], at: ms or null}
function recordCode(planId, done) {
  const minutes = done.at === null ? 0 : Math.floor((done.at - CODE_EPOCH) / 60000);
  let bits = fixed(1, 5) + fixed(Math.min(Math.max(minutes, 0), 2 ** 25 - 1), 25);
  const runs = [0];
  let last = false;
  for (const flag of done.cut) {
    if (flag !== last) {
      runs.push(0);
      last = flag;
    }
    runs[runs.length - 1] += 1;
  }
  runs.forEach((run, k) => {
    bits += gamma(k === 0 ? run + 1 : run);
  });
  bits += gamma(done.broken.size + 1);
  let before = -1;
  for (const index of [...done.broken.keys()].sort((a, b) => a - b)) {
    bits += gamma(index - before) + fixed(done.broken.get(index), 3);
    before = index;
  }
  for (const kept of done.offcuts) bits += kept === null ? "0" : kept ? "10" : "11";
  bits += "0".repeat((5 - (bits.length % 5)) % 5);
  const values = [...planId.replace("-", "")].map((c) => ALPHABET.indexOf(c));
  for (let i = 0; i < bits.length; i += 5) values.push(parseInt(bits.slice(i, i + 5), 2));
  const letters = [...values, ...checkLetters(values)].map((v) => ALPHABET[v]).join("");
  return letters.match(/.{1,4}/g).join("-");
}
