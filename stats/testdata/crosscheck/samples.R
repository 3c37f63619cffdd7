# Tests of samples in base R on the cases given as JSON on standard input; JSON
# on standard output.
#
#   Rscript samples.R < samples_input.json > samples_output.json
#
# makes the stored output that is compared without R.
suppressPackageStartupMessages(library(jsonlite))
options(warn = -1)

cases <- fromJSON(file("stdin"), simplifyDataFrame = FALSE, simplifyMatrix = FALSE)
out <- lapply(cases, function(case) {
  a <- case$groups[[1]]
  b <- case$groups[[2]]
  values <- unlist(case$groups)
  group <- factor(rep(seq_along(case$groups), lengths(case$groups)))
  welch <- t.test(a, b)
  student <- t.test(a, b, var.equal = TRUE)
  k <- min(length(a), length(b))
  # Where all differences are the same there is no test.
  paired <- tryCatch(t.test(a[1:k], b[1:k], paired = TRUE), error = function(e) NULL)
  tied <- any(duplicated(c(a, b)))
  ranks <- wilcox.test(a, b, exact = !tied && length(a) + length(b) <= 60, correct = TRUE)
  aov <- anova(lm(values ~ group))
  owt <- oneway.test(values ~ group)
  kw <- kruskal.test(values, group)
  # Every split of the ranks, where they are few, ties and all.
  all <- c(a, b)
  permuted <- -1
  if (length(all) <= 12) {
    r <- rank(all)
    sums <- combn(length(all), length(a), function(i) sum(r[i]))
    permuted <- mean(abs(sums - mean(sums)) >= abs(sum(r[seq_along(a)]) - mean(sums)) - 1e-9)
  }
  test <- function(t) c(unname(t$statistic), unname(t$parameter), t$p.value, t$conf.int)
  list(welch = test(welch), student = test(student), paired = if (is.null(paired)) numeric(0) else test(paired),
       w = unname(ranks$statistic), ranks = ranks$p.value, tied = tied, permuted = permuted,
       anova = c(aov$`Sum Sq`, aov$`F value`[1], aov$`Pr(>F)`[1]),
       oneway = c(unname(owt$statistic), unname(owt$parameter), owt$p.value),
       kruskal = c(unname(kw$statistic), unname(kw$parameter), kw$p.value))
})
cat(toJSON(list(version = R.version.string, cases = out), digits = I(15), auto_unbox = FALSE), "\n")
