// Asks the what-if question of a line from 8 clients, at 200 a second and as fast as
// it goes, and prints what came of it. Ends with 1 when a goal is missed or an answer
// is not what was asked for.
import autocannon from "autocannon";
import { readFileSync } from "node:fs";

const [url, pid, seconds] = process.argv.slice(2);
const line = "/api/books/saltmarsh-bend-fire-and-rescue/lines/left-crosslay";
const CLIENTS = 8;
const GOAL = { perSecond: 200, p99: 50, memory: 150 };

// A hundred places of the gate and of the pump, so that answers differ.
const requests = Array.from({ length: 100 }, (_, n) => ({
  path: `${line}?gate=${n + 1}%20%25&pump=${100 + n}%20psi`,
}));

// The most memory that the server has had, in MB.
function peakMemory() {
  const status = readFileSync(`/proc/${pid}/status`, "utf8");
  return Number(/VmHWM:\s+(\d+) kB/.exec(status)[1]) / 1000;
}

async function load(name, rate) {
  const result = await autocannon({
    url,
    connections: CLIENTS,
    duration: Number(seconds),
    requests,
    ...rate,
  });
  const perSecond = result["2xx"] / result.duration;
  const { p50, p99 } = result.latency;
  const wrong = result.non2xx + result.errors + result.timeouts;
  const memory = peakMemory();
  console.log(
    `${name.padEnd(16)} ${perSecond.toFixed(0)} answers/s, p50 ${p50} ms, p99 ${p99} ms, ` +
      `${wrong} without an answer, peak memory ${memory.toFixed(0)} MB`,
  );
  return { perSecond, p99, memory, wrong };
}

await load("warm up", { duration: 2 });
const paced = await load("200 a second", { connectionRate: GOAL.perSecond / CLIENTS });
const free = await load("as fast as it goes", {});
const missed = [
  // The last second of a paced run may be cut short.
  paced.perSecond < 0.98 * GOAL.perSecond && `${GOAL.perSecond} answers a second`,
  paced.p99 >= GOAL.p99 && `p99 under ${GOAL.p99} ms at that rate`,
  free.memory >= GOAL.memory && `memory under ${GOAL.memory} MB`,
  paced.wrong + free.wrong > 0 && "an answer to every question",
].filter(Boolean);
console.log(missed.length ? `Missed: ${missed.join("; ")}` : "Every goal is met.");
process.exitCode = missed.length ? 1 : 0;
