// The samples of a capture, from base 64 back to counts; src/page/samples.rs packs them.

/** All channels of a packed text, each of `frames` samples of 16 bits. */
export async function unpack(text, frames) {
  const packed = Uint8Array.from(atob(text.trim()), (letter) => letter.charCodeAt(0));
  const inflating = new Blob([packed]).stream().pipeThrough(new DecompressionStream("deflate"));
  const bytes = new DataView(await new Response(inflating).arrayBuffer());
  const channels = [];
  for (let at = 0; at < bytes.byteLength; at += 2 * frames) {
    const samples = new Int16Array(frames);
    // Each sample is told by its step from the one before; an Int16Array wraps as the steps do.
    for (let i = 0; i < frames; i += 1) {
      samples[i] = (i > 0 ? samples[i - 1] : 0) + bytes.getInt16(at + 2 * i, true);
    }
    channels.push(samples);
  }
  return channels;
}
