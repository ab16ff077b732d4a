// Instants arrive as UTC milliseconds and are shown in the browser's own time.

const clock = new Intl.DateTimeFormat("en-GB", { hour: "2-digit", minute: "2-digit", hourCycle: "h23" });
const exact = new Intl.DateTimeFormat("en-GB", { hour: "2-digit", minute: "2-digit", second: "2-digit", hourCycle: "h23" });
const day = new Intl.DateTimeFormat("en-GB", { day: "numeric", month: "short" });

export function write(ms, form = "clock") {
  const date = new Date(ms);
  if (form === "dated") return `${day.format(date)} ${exact.format(date)}`;
  return { clock, exact, day }[form].format(date);
}

export function zone(ms) {
  const name = Intl.DateTimeFormat().resolvedOptions().timeZone;
  const minutes = -new Date(ms).getTimezoneOffset();
  const size = Math.abs(minutes);
  const rest = size % 60 ? `:${String(size % 60).padStart(2, "0")}` : "";
  const offset = minutes ? `UTC${minutes < 0 ? "−" : "+"}${Math.floor(size / 60)}${rest}` : "UTC";
  return name === "UTC" ? "times in UTC" : `times in ${name}, ${offset}`;
}

export function localise(root) {
  for (const time of root.querySelectorAll("time[data-ms]")) {
    const ms = Number(time.dataset.ms);
    time.dateTime = new Date(ms).toISOString();
    time.textContent = write(ms, time.dataset.form ?? "clock");
  }
}
