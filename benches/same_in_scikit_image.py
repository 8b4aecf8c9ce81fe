"""The measurements of one photograph written with scikit-image, numpy and scipy, timed.

Prints the seconds taken, decoding included, imports not. It does in the plainest way what
`inktell examine` does: linear light, density over a flattened ground, marks and their shapes,
neighbours, breadth of ink and gaps, structure tensor, windowed spectra of three channels, ground colour
in CIELAB. It fits no phases, separates no inks and weighs nothing, so it does less.
"""

import sys
import time

import numpy as np
from scipy import ndimage, spatial
from skimage import color, feature, filters, io, measure

start = time.perf_counter()
photo = io.imread(sys.argv[1])[..., :3] / 255.0
px_per_mm = float(sys.argv[2])

linear = np.where(photo <= 0.04045, photo / 12.92, ((photo + 0.055) / 1.055) ** 2.4)
coarse = [ndimage.percentile_filter(linear[::16, ::16, c], 85, size=15) for c in range(3)]
ground = np.stack([ndimage.zoom(c, 16, order=1) for c in coarse], -1)[: photo.shape[0], : photo.shape[1]]
density = -np.log10(np.clip(linear / np.clip(ground, 1e-4, None), 1e-3, None))
grey = density.mean(-1)

labels = measure.label(grey > filters.threshold_otsu(grey))
shapes = ("area", "centroid", "orientation", "axis_major_length", "axis_minor_length", "perimeter")
table = measure.regionprops_table(labels, grey, properties=shapes)
points = np.column_stack([table["centroid-0"], table["centroid-1"]])
if len(points) > 1:
    spatial.cKDTree(points).query(points, k=2)

for inside in (labels > 0, labels == 0):
    depth = ndimage.distance_transform_edt(inside)
    middle = inside & (depth == ndimage.maximum_filter(depth, size=3))
    if middle.any():
        np.quantile(depth[middle], [0.1, 0.5, 0.9])

tensor = feature.structure_tensor(grey, sigma=px_per_mm * 0.05)
feature.structure_tensor_eigenvalues(tensor)

window = np.outer(np.hanning(256), np.hanning(256))
for y in range(0, grey.shape[0] - 255, 256):
    for x in range(0, grey.shape[1] - 255, 256):
        for c in range(3):
            np.abs(np.fft.rfft2(density[y : y + 256, x : x + 256, c] * window)) ** 2

color.rgb2lab(photo[::4, ::4])
print(time.perf_counter() - start)
