// SPDX-License-Identifier: GPL-3.0-or-later
// Talking to the desk: figures at once (live), and commands that run for a while.

const trouble = () => document.getElementById("trouble");

function closed() {
  trouble().textContent = "The desk does not answer: it was closed, or this machine sleeps. Start bloomcoat desk again and open the address it prints.";
  trouble().hidden = false;
}

async function request(path, options) {
  let answer;
  try {
    answer = await fetch(path, options);
  } catch (error) {
    if (error.name !== "AbortError") closed();
    throw error;
  }
  if (answer.status === 403 || answer.status === 421) closed();
  else trouble().hidden = true;
  return answer;
}

function post(body, signal) {
  return { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(body), signal };
}

async function answerOf(response) {
  let answer;
  try {
    answer = await response.json();
  } catch {
    throw new Error("The desk did not take this request (" + response.status + ").");
  }
  if (!response.ok) throw new Error(answer.error || "The desk did not take this request.");
  return answer;
}

export const about = async () => answerOf(await request("/shop.json", {}));
export const live = async (body, signal) => answerOf(await request("/live", post(body, signal)));
export const understand = async (words, signal) => answerOf(await request("/words", post({ words }, signal)));
export const read = async (kind, name, contents) => answerOf(await request("/read", post({ kind, name, contents })));
export const text = async (path) => (await request(path, {})).text();

// Bytes as base64: files keep whatever encoding they have.
export async function bytesOf(file) {
  const bytes = new Uint8Array(await file.arrayBuffer());
  let binary = "";
  for (let i = 0; i < bytes.length; i += 0x8000) binary += String.fromCharCode(...bytes.subarray(i, i + 0x8000));
  return btoa(binary);
}
export const bytesOfText = (words) => bytesOf(new Blob([words]));

// Run a command. `on` may have command(line), progress(words) and found({option} or {exception}). Resolves to {exit, out (of --json), printed, said, id,
// results}; `job.stop()` ends it with the best so far, `job.cancel()` at once.
export function run(body, on = {}) {
  const control = new AbortController();
  let id = null;
  const job = {
    stop: () => id && request("/stop", post({ job: id })),
    cancel: () => control.abort(),
  };
  job.done = (async () => {
    const response = await request("/run", post(body, control.signal));
    if (!response.ok) return answerOf(response);
    const reader = response.body.pipeThrough(new TextDecoderStream()).getReader();
    let rest = "", result = null;
    for (;;) {
      const { value, done } = await reader.read();
      if (done) break;
      const lines = (rest + value).split("\n");
      rest = lines.pop();
      for (const line of lines) {
        if (line === "") continue;
        const message = JSON.parse(line);
        if (message.job) {
          id = message.job;
          if (on.command) on.command(message.command);
        } else if (message.progress && on.progress) on.progress(message.progress);
        else if (message.found && on.found) on.found(message.found);
        else if (message.waits && on.progress) on.progress("Waiting: " + message.waits);
        else if ("exit" in message) result = message;
      }
    }
    if (!result) throw new Error("The desk was closed before this was done.");
    result.id = id;
    result.out = null;
    if (result.printed && result.printed[0] === "{") result.out = JSON.parse(result.printed);
    return result;
  })();
  return job;
}

// The complaint of a command, without the program's name before it.
export function complaint(result) {
  const lines = (result.said || "").split("\n");
  const at = lines.findLastIndex((line) => line.startsWith("bloomcoat: "));
  return at < 0 ? "This could not be computed." : lines.slice(at).join("\n").replace(/^bloomcoat: /, "").trim();
}

export const resultAddress = (result, name) => "/result/" + result.id + "/" + name;
