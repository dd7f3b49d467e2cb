// out/design.html, what `draw` writes. Nothing is assumed of its markup beyond what every page is held to.
import path from 'node:path';

export const command = 'draw';
export const pages = (folder) => [path.join(folder, 'out/design.html')];
export const shows = ['plan', 'site', 'long site', 'unbroken site'];
