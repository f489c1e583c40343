// Lengths as they are said on site. The server reads what is typed; this only prints.

const INCH_M = 0.0254;

/** A length in feet, inches and sixteenths, or in millimetres: `6' 3 1/2"`, `1918 mm`. */
export function tape(length_m: number, units: "inch" | "metric"): string {
  if (units === "metric") return `${Math.round(length_m * 1000)} mm`;
  const sixteenths = Math.round((Math.abs(length_m) / INCH_M) * 16);
  const sign = length_m < 0 && sixteenths > 0 ? "−" : "";
  const feet = Math.floor(sixteenths / 192);
  const inches = inchText(sixteenths - feet * 192);
  return sign + (feet > 0 ? (inches === '0"' ? `${feet}'` : `${feet}' ${inches}`) : inches);
}

/** A length in inches and sixteenths alone, or in millimetres: `75 1/2"`. */
export function inches(length_m: number, units: "inch" | "metric"): string {
  if (units === "metric") return `${(length_m * 1000).toFixed(1).replace(/\.0$/, "")} mm`;
  return inchText(Math.round((length_m / INCH_M) * 16));
}

/** The thickness of a layer: sixteenths where they say enough, else thousandths of an inch. */
export function thickness(length_m: number, units: "inch" | "metric"): string {
  const sixteenths = (length_m / INCH_M) * 16;
  if (units === "metric" || Math.abs(sixteenths - Math.round(sixteenths)) < 0.05 * sixteenths) return inches(length_m, units);
  return `${(length_m / INCH_M).toFixed(3)} in`;
}

export function area(area_m2: number, units: "inch" | "metric"): string {
  return units === "metric" ? `${area_m2.toFixed(2)} m²` : `${(area_m2 / 0.09290304).toFixed(1)} ft²`;
}

export function volume(volume_m3: number, units: "inch" | "metric"): string {
  return units === "metric" ? `${volume_m3.toFixed(2)} m³` : `${(volume_m3 / 0.028316846592).toFixed(1)} ft³`;
}

const TAPE = /(?:(\d+)' )?(?:(\d+) (\d+)\/(\d+)|(\d+)\/(\d+)|(\d+))"|(\d+)'(?= |,|$)/g;

/** A sentence of the proof with its lengths in the units of the job; thousandths of an inch, cut off so that no short lap reads as enough. */
export function inUnits(sentence: string, units: "inch" | "metric"): string {
  if (units === "metric") {
    return sentence.replace(TAPE, (_, feet = 0, whole = 0, over = 0, of = 1, part = 0, parts = 1, plain = 0, bare = 0) => {
      const inch = 12 * (Number(feet) + Number(bare)) + Number(whole) + Number(over) / Number(of) + Number(part) / Number(parts) + Number(plain);
      return `${Math.round(inch * INCH_M * 1000)} mm`;
    });
  }
  return sentence.replace(/(-?\d+(?:\.\d+)?) (mm|m)(?![\w²³])/g, (_, said: string, unit: string) => `${(Math.floor((Number(said) / (unit === "mm" ? 25.4 : INCH_M)) * 1000 + 1e-6) / 1000).toFixed(3)} in`);
}

function inchText(sixteenths: number): string {
  const whole = Math.floor(sixteenths / 16);
  let over = sixteenths - whole * 16;
  let of = 16;
  while (over > 0 && over % 2 === 0) {
    over /= 2;
    of /= 2;
  }
  if (over === 0) return `${whole}"`;
  return whole > 0 ? `${whole} ${over}/${of}"` : `${over}/${of}"`;
}
