# Reads the kept figures of pairs.sh and prints the table. Exit code 1 where a figure is slower.
function sort(a, n,    i, j, t) {
  for (i = 2; i <= n; i++) { t = a[i]; for (j = i - 1; j >= 1 && a[j] > t; j--) a[j + 1] = a[j]; a[j + 1] = t }
}
function median(a, n) { return n % 2 ? a[(n + 1) / 2] : (a[n / 2] + a[n / 2 + 1]) / 2 }
# The largest k for which the k-th smallest and the k-th largest of n values enclose the median at 95 %; 0 for none.
function rank(n,    k, tail, one, i) {
  one = 1; for (i = 1; i <= n; i++) one /= 2
  tail = 0
  for (k = 0; k < n; k++) { tail += one; if (tail > 0.025) return k; one *= (n - k) / (k + 1) }
  return n
}
END {
  for (pair = 1; pair <= pairs; pair++)
    for (side = 0; side < 2; side++) {
      file = kept "/" (side ? "new" : "old") "-" pair
      while ((getline line < file) > 0) {
        split(line, cell, "\t")
        value[cell[1], side, pair] = cell[2] + 0
        if (!(cell[1] in seen)) { seen[cell[1]] = 1; order[++count] = cell[1] }
      }
      close(file)
    }
  print "| figure | pairs | old, median | new, median | new / old, median | 95 % interval | |"
  print "| --- | --- | --- | --- | --- | --- | --- |"
  for (i = 1; i <= count; i++) {
    n = 0
    for (pair = 1; pair <= pairs; pair++) {
      if (!((order[i], 0, pair) in value) || !((order[i], 1, pair) in value) || value[order[i], 0, pair] <= 0) continue
      n++
      before[n] = value[order[i], 0, pair]; after[n] = value[order[i], 1, pair]; ratio[n] = after[n] / before[n]
    }
    if (n == 0) continue
    sort(before, n); sort(after, n); sort(ratio, n)
    k = rank(n)
    slower = k > 0 && ratio[k] > 1.05
    fault = fault || slower
    interval = "too few pairs"
    if (k > 0) interval = sprintf("%.3f to %.3f", ratio[k], ratio[n + 1 - k])
    printf("| %s | %d | %.4g | %.4g | %.3f | %s | %s |\n", order[i], n, median(before, n), median(after, n), median(ratio, n), interval, slower ? "**slower**" : "")
  }
  exit fault ? 1 : 0
}
