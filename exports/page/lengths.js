// Lengths as drawings carry them: feet and inches to 1/16 in, the same rule as shared/units.py (a test compares the two).
function feetInches(value) {
  const ticks = Math.floor(Math.abs(value) * 16 + 0.5);
  const sign = value < 0 && ticks ? '-' : '';
  const feet = Math.floor(ticks / 192);
  const rest = ticks % 192, zero = rest > 0 && rest < 16 ? '0 ' : '';
  return sign + (feet ? `${feet}'-${zero}` : '') + inchText(rest) + '"';
}

function inchText(ticks) {
  const whole = Math.floor(ticks / 16);
  let top = ticks % 16, bottom = 16;
  if (!top) return String(whole);
  while (top % 2 === 0) { top /= 2; bottom /= 2; }
  return whole ? `${whole} ${top}/${bottom}` : `${top}/${bottom}`;
}
