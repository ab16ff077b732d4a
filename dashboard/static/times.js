// Instants arrive as UTC milliseconds and are shown in the browser's own time.

const clock = new Intl.DateTimeFormat(undefined, { hour: "2-digit", minute: "2-digit", hourCycle: "h23" });
const exact = new Intl.DateTimeFormat(undefined, { hour: "2-digit", minute: "2-digit", second: "2-digit", hourCycle: "h23" });
const dated = new Intl.DateTimeFormat(undefined, { day: "numeric", month: "short", hour: "2-digit", minute: "2-digit", hourCycle: "h23" });

export function write(ms, form = "clock") {
  return { clock, exact, dated }[form].format(new Date(ms));
}

export function localise(root) {
  for (const time of root.querySelectorAll("time[data-ms]")) {
    const ms = Number(time.dataset.ms);
    time.dateTime = new Date(ms).toISOString();
    time.textContent = write(ms, time.dataset.form ?? "clock");
  }
}
