# Times base R on a file of tables (reached, all, reached, all); prints milliseconds for all of them by name, as JSON.
rows <- as.matrix(read.table(commandArgs(TRUE)[1])); n <- nrow(rows)
four <- function(i) rows[(seq(i - 1, i + 2) %% n) + 1, ]
least_ms <- function(work) min(vapply(1:3, function(i) { start <- Sys.time(); work(); as.numeric(difftime(Sys.time(), start, units = "secs")) }, 0)) * 1e3
fisher <- function() for (i in 1:n) { r <- rows[i, ]; fisher.test(rbind(c(r[1], r[2] - r[1]), c(r[3], r[4] - r[3]))) }
freeman_halton <- function() for (i in 1:n) { r <- four(i); fisher.test(cbind(r[, 1], r[, 2] - r[, 1]), workspace = 2e7) }
exact_conditional <- function() for (i in 1:n) { r <- four(i); mantelhaen.test(array(rbind(r[, 1], r[, 3], r[, 2] - r[, 1], r[, 4] - r[, 3]), c(2, 2, 4)), exact = TRUE) }
cat(sprintf("{\"fisher\": %f, \"freeman_halton\": %f, \"exact_conditional\": %f}\n", least_ms(fisher), least_ms(freeman_halton), least_ms(exact_conditional)))
