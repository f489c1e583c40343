// The materials of the catalog as the page needs them.

export interface Material {
  id: string;
  name: string;
  role: string;
  thickness_m: number | null;
  note: string;
}

export interface Catalog {
  materials: Record<string, Material>;
}

/** Roles of layers in the order in which they lie, from the steam outward, with what to call them. */
export const ROLES: readonly (readonly [string, string])[] = [
  ["tile", "Tile"], ["mortar", "Mortar"], ["membrane", "Membrane"], ["board", "Board"], ["bed", "Mortar bed"], ["cavity", "In the framing"],
  ["insulation", "Insulation"], ["retarder", "Retarder"], ["structure", "Structure"], ["framing", "Framing"], ["lining", "Lining"], ["finish", "Finish"],
];

/** Materials by role, in the order of {@link ROLES}. */
export function byRole(catalog: Catalog): { role: string; materials: Material[] }[] {
  const all = Object.values(catalog.materials);
  return ROLES.map(([role, words]) => ({ role: words, materials: all.filter((m) => m.role === role) })).filter((group) => group.materials.length > 0);
}

/** Groups of facets that a build-up can be put on. */
export const GROUPS = ["walls", "ceiling", "floor", "benches", "niches", "curbs", "half walls", "columns", "soffits", "openings"] as const;
