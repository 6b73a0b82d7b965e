// Ids of RFC 9562, version 7, made on the phone: 48 bits of time, then chance. Only
// `getRandomValues` is there on plain http.

export function newId(at = Date.now()) {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  let ms = Math.floor(at);
  for (let i = 5; i >= 0; i -= 1) {
    bytes[i] = ms % 256;
    ms = Math.floor(ms / 256);
  }
  bytes[6] = 0x70 | (bytes[6] & 0x0f);
  bytes[8] = 0x80 | (bytes[8] & 0x3f);
  const hex = [...bytes].map((b) => b.toString(16).padStart(2, "0")).join("");
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join("-");
}
