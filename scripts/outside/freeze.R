# Asks base R and writes its answers down: freeze.R FOLDER. Only what r-base-core brings; JSON is written by hand.
folder <- commandArgs(TRUE)[1]
set.seed(2027, kind = "Mersenne-Twister", sample.kind = "Rejection")
source_of <- function(what) sprintf("R %s.%s %s", R.version$major, R.version$minor, what)
quote_text <- function(text) sprintf("\"%s\"", gsub("\"", "\\\\\"", text))

# A named list becomes an object, a plain one or a longer vector a list, twelve digits of every number.
json <- function(value) {
  if (!is.null(names(value))) {
    parts <- mapply(function(name, part) sprintf("%s: %s", quote_text(name), json(part)), names(value), value)
    return(sprintf("{%s}", paste(parts, collapse = ", ")))
  }
  if (is.list(value)) return(sprintf("[%s]", paste(vapply(value, json, ""), collapse = ", ")))
  if (inherits(value, "AsIs") || length(value) != 1) return(sprintf("[%s]", paste(vapply(unclass(value), json, ""), collapse = ", ")))
  if (is.character(value)) return(quote_text(value))
  if (is.na(value)) stop("not a number in what was to be frozen")
  if (is.infinite(value)) return(if (value > 0) "\"Infinity\"" else "\"-Infinity\"")
  format(value, digits = 12, scientific = if (value != 0 && abs(value) < 1e-4) TRUE else FALSE, trim = TRUE)
}

write_file <- function(name, method, what, tolerance, cases, notes = "") {
  head <- list(method = method, source = source_of(what), source_kind = "library", made_by = "cargo xtask outside",
               tolerance = tolerance, notes = notes)
  lines <- mapply(function(key, value) sprintf("  %s: %s,", quote_text(key), json(value)), names(head), head)
  rows <- paste(vapply(cases, function(case) paste0("    ", json(case)), ""), collapse = ",\n")
  path <- file.path(folder, paste0(name, ".outside-r.json"))
  writeLines(c("{", lines, "  \"cases\": [", rows, "  ]", "}"), path)
  cat(basename(path), "\n", sep = "")
}

# Several groups: Fisher-Freeman-Halton by the network algorithm, the asymptotic trend, pairs with Holm.
several <- list()
while (length(several) < 25) {
  k <- sample(3:6, 1); n <- sample(2:14, k, TRUE); x <- vapply(n, function(m) sample(0:m, 1), 0L)
  if (sum(x) %in% c(0, sum(n))) next
  scores <- sort(sample(0:20, k)); table <- rbind(x, n - x)
  trend <- suppressWarnings(prop.trend.test(x, n, scores))
  sign <- sign(sum((scores - weighted.mean(scores, n)) * x))
  at <- combn(k, 2)
  p <- apply(at, 2, function(ij) min(1, fisher.test(table[, ij])$p.value)); holm <- p.adjust(p, "holm"); bonferroni <- p.adjust(p, "bonferroni")
  pairs <- lapply(seq_along(p), function(i) list(a = at[1, i] - 1, b = at[2, i] - 1, p = p[i], p_holm = holm[i], p_bonferroni = bonferroni[i]))
  several[[length(several) + 1]] <- list(
    name = sprintf("random_%d", length(several)),
    input = list(events = I(x), n = I(n), scores = I(scores)),
    expected = list(fisher_freeman_halton_p = min(1, fisher.test(table, workspace = 2e7)$p.value), pairwise_fisher = pairs,
                    trend = list(z = sign * sqrt(unname(trend$statistic)), p_two_sided_asymptotic = trend$p.value)))
}
write_file("03_k_groups", "k_groups_exact", "fisher.test, prop.trend.test, p.adjust", list(abs = 1e-8, rel = 1e-6), several)

# Several tries: the exact conditional test and the test of Cochran, Mantel and Haenszel.
tries <- list()
while (length(tries) < 25) {
  k <- sample(2:7, 1); n <- sample(2:12, k, TRUE); m <- sample(2:12, k, TRUE)
  x <- vapply(n, function(v) sample(0:v, 1), 0L); y <- vapply(m, function(v) sample(0:v, 1), 0L)
  table <- array(rbind(x, y, n - x, m - y), c(2, 2, k))
  if (sum(x + y) %in% c(0, sum(n + m)) || !any(x + y > 0 & x + y < n + m)) next
  two <- mantelhaen.test(table, exact = TRUE)
  more <- mantelhaen.test(table, exact = TRUE, alternative = "greater")
  less <- mantelhaen.test(table, exact = TRUE, alternative = "less")
  plain <- mantelhaen.test(table, correct = FALSE)
  corrected <- mantelhaen.test(table, correct = TRUE)
  expected <- list(cmh_chi2 = unname(plain$statistic), cmh_p = plain$p.value,
                   cmh_chi2_continuity = unname(corrected$statistic), cmh_p_continuity = corrected$p.value,
                   exact_conditional = list(p_two_sided = min(1, two$p.value), p_a_greater = min(1, more$p.value), p_a_less = min(1, less$p.value)))
  tries[[length(tries) + 1]] <- list(
    name = sprintf("random_%d", length(tries)),
    input = list(strata = lapply(seq_len(k), function(i) list(events_a = x[i], n_a = n[i], events_b = y[i], n_b = m[i])), conf_level = 0.95),
    expected = expected)
}
write_file("04_stratified", "stratified_over_runs", "mantelhaen.test, asymptotic and exact", list(abs = 1e-7, rel = 1e-6), tries,
           "The odds ratio and its limits are left out: R's root finder leaves four digits.")

# Two shares: Fisher's test both ways, larger groups than the enumerations reach.
two <- list()
while (length(two) < 25) {
  n <- sample(20:300, 1); m <- sample(20:300, 1); x <- sample(0:n, 1); y <- min(m, max(0, round(m * x / n) + sample(-15:15, 1)))
  table <- rbind(c(x, n - x), c(y, m - y))
  two[[length(two) + 1]] <- list(
    name = sprintf("random_%d_%d_of_%d_and_%d_of_%d", length(two), x, n, y, m),
    input = list(events_a = x, n_a = n, events_b = y, n_b = m),
    expected = list(fisher_p_two_sided = min(1, fisher.test(table)$p.value), fisher_p_a_greater = min(1, fisher.test(table, alternative = "greater")$p.value),
                    fisher_p_a_less = min(1, fisher.test(table, alternative = "less")$p.value)))
}
write_file("02_two_proportions", "two_proportions", "fisher.test", list(abs = 1e-12, rel = 1e-7), two)
