// Heat and mass as they are said on site, factors of NIST SP 811, Appendix B.8: the trade's R is 1 h ft² °F/Btu.

type Units = "inch" | "metric";

export const R_M2K_W = 0.1761102;
export const LB_KG = 0.45359237;
export const LB_FT2_KG_M2 = LB_KG / 0.3048 ** 2;

export function resistance(r_m2k_w: number, units: Units): string {
  return units === "inch" ? `R ${(r_m2k_w / R_M2K_W).toFixed(1)}` : `${r_m2k_w.toFixed(2)} m²K/W`;
}

export function transmittance(u_w_m2k: number, units: Units): string {
  return units === "inch" ? `${(u_w_m2k * R_M2K_W).toFixed(3)} Btu/(h ft² °F)` : `${u_w_m2k.toFixed(2)} W/(m²K)`;
}

export function arealMass(mass_kg_m2: number, units: Units): string {
  return units === "inch" ? `${(mass_kg_m2 / LB_FT2_KG_M2).toFixed(1)} lb/ft²` : `${mass_kg_m2.toFixed(1)} kg/m²`;
}
