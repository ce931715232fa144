
// fetchScene asks for the compiled scene, as a response that can be compiled as it comes.
// Few plain servers compress: what would come whole, at five times the size, is fetched
// in the form that lies packed beside it. Some know no type for it.
async function fetchScene(address, how) {
  const typed = body => new Response(body, { headers: { "Content-Type": "application/wasm" } });
  const whole = async () => {
    const r = await fetch(address, how);
    return !r.ok || r.headers.get("Content-Type") === "application/wasm" ? r : typed(r.body);
  };
  const head = await fetch(address, { ...how, method: "HEAD" });
  if (!head.ok || head.headers.get("Content-Encoding") || typeof DecompressionStream === "undefined") return whole();
  const r = await fetch(address.replace(".wasm", ".wasm.gz"), how);
  if (!r.ok) return whole();
  // A server that says what is in it has the browser unpack it.
  return typed(r.headers.get("Content-Encoding") ? r.body : r.body.pipeThrough(new DecompressionStream("gzip")));
}
