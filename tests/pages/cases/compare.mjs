// out/compare.html, what `compare` writes. Nothing is assumed of its markup beyond what every page is held to.
import path from 'node:path';

export const command = 'compare';
export const pages = (folder) => [path.join(folder, 'out/compare.html')];
export const shows = ['plan', 'species', 'long species'];
