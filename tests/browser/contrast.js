// Gives text whose contrast with the nearest filled ground is below 4.5 to 1 (WCAG 2.2, success
// criterion 1.4.3; relative luminance as defined there).
() => {
  const canvas = new OffscreenCanvas(1, 1).getContext("2d", { willReadFrequently: true });
  const rgba = (colour) => {
    canvas.clearRect(0, 0, 1, 1);
    canvas.fillStyle = colour;
    canvas.fillRect(0, 0, 1, 1);
    return [...canvas.getImageData(0, 0, 1, 1).data];
  };
  const linear = (v) => (v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4);
  const luminance = ([r, g, b]) => 0.2126 * linear(r / 255) + 0.7152 * linear(g / 255) + 0.0722 * linear(b / 255);
  const ground = (element) => {
    for (let e = element; e; e = e.parentElement) {
      const colour = rgba(getComputedStyle(e).backgroundColor);
      if (colour[3] > 250) return colour;
    }
    return [255, 255, 255];
  };
  const weak = [];
  for (const e of document.querySelectorAll("body *")) {
    const told = [...e.childNodes].some((n) => n.nodeType === Node.TEXT_NODE && n.data.trim());
    if (!told || e.closest("svg, option") || !e.checkVisibility()) continue;
    const pair = [luminance(rgba(getComputedStyle(e).color)), luminance(ground(e))];
    const ratio = (Math.max(...pair) + 0.05) / (Math.min(...pair) + 0.05);
    if (ratio < 4.5) weak.push(`${ratio.toFixed(2)}: ${e.textContent.trim().slice(0, 40)}`);
  }
  return weak;
}
