// Before anything else: what the page holds packed.
const unpackedText = async id => new TextDecoder().decode(await unpacked(id));
async function unpacked(id) {
  if (typeof DecompressionStream === "undefined") throw new Error("this browser cannot unpack what the page holds");
  const text = atob(document.getElementById(id).textContent), bytes = new Uint8Array(text.length);
  for (let i = 0; i < text.length; ++i) bytes[i] = text.charCodeAt(i);
  return new Uint8Array(await new Response(new Blob([bytes]).stream().pipeThrough(new DecompressionStream("deflate"))).arrayBuffer());
}
try {
  const three = document.createElement("script");
  three.textContent = await unpackedText("three-packed");
  document.head.append(three);
} catch (e) {
  // The page's own renderer stands in.
}
