// The time axis in our own words: round instants, and the day under the first and where it changes.
// Instants are shifted to local time already, so the UTC getters read local figures.

const MINUTE = 60000;
const STRIDES = [1, 2, 3, 5, 10, 15, 20, 30, 60, 120, 180, 360, 720, 1440, 2880, 7200, 14400, 43200, 129600].map((m) => m * MINUTE);
const PX_APART = 92;
const DAY = new Intl.DateTimeFormat("en-GB", { day: "numeric", month: "short", timeZone: "UTC" });
const CLOCK = new Intl.DateTimeFormat("en-GB", { hour: "2-digit", minute: "2-digit", hourCycle: "h23", timeZone: "UTC" });

export function timeAxis([from, to], width) {
  const most = Math.max(2, Math.floor(width / PX_APART));
  const stride = STRIDES.find((s) => (to - from) / s <= most) ?? STRIDES.at(-1);
  const tickvals = [];
  for (let at = Math.ceil(from / stride) * stride; at <= to; at += stride) tickvals.push(at);
  if (!tickvals.length) tickvals.push(from);
  let last = "";
  const ticktext = tickvals.map((at) => {
    const today = DAY.format(at);
    const text = stride >= 1440 * MINUTE ? today : today === last ? CLOCK.format(at) : `${CLOCK.format(at)}<br>${today}`;
    last = today;
    return text;
  });
  return { tickmode: "array", tickvals, ticktext };
}
