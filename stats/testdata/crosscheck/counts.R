# Methods of base R for counts, on the cases given as JSON on standard input;
# JSON on standard output.
#
#   Rscript counts.R < counts_input.json > counts_output.json
#
# makes the stored output that is compared without R.
suppressPackageStartupMessages(library(jsonlite))
options(warn = -1)

one <- function(case) {
  tail <- (1 - case$level) / 2
  k <- case$events
  poisson <- c(if (k == 0) 0 else qgamma(tail, k), qgamma(tail, k + 1, lower.tail = FALSE))

  # The rate ratio from the binomial distribution of events1 given both.
  n <- case$events1 + case$events0
  odds <- function(p, rest) p / rest
  lower <- if (case$events1 == 0) 0 else
    odds(qbeta(tail, case$events1, case$events0 + 1),
         qbeta(tail, case$events0 + 1, case$events1, lower.tail = FALSE))
  upper <- if (case$events0 == 0) Inf else
    odds(qbeta(tail, case$events1 + 1, case$events0, lower.tail = FALSE),
         qbeta(tail, case$events0, case$events1 + 1))
  pi <- case$time1 / (case$time1 + case$time0)
  ratio_p <- min(1, 2 * pbinom(case$events1, n, pi),
                 2 * pbinom(case$events1 - 1, n, pi, lower.tail = FALSE))
  scale <- case$time0 / case$time1

  exact <- as.numeric(binom.test(case$hits, case$trials, conf.level = case$level)$conf.int)
  wilson <- as.numeric(prop.test(case$hits, case$trials, conf.level = case$level, correct = FALSE)$conf.int)

  four <- matrix(case$four, 2, byrow = TRUE)
  wide <- do.call(rbind, case$wide)
  square <- chisq.test(wide, correct = FALSE)
  list(
    poisson = poisson,
    ratio = c(lower * scale, upper * scale),
    ratio_p = ratio_p,
    exact = exact,
    wilson = wilson,
    fisher_four = fisher.test(four)$p.value,
    hyper = min(1, 2 * phyper(four[1, 1], sum(four[1, ]), sum(four[2, ]), sum(four[, 1])),
      2 * phyper(four[1, 1] - 1, sum(four[1, ]), sum(four[2, ]), sum(four[, 1]), lower.tail = FALSE)),
    fisher_wide = fisher.test(wide, workspace = 2e7)$p.value,
    chisq = unname(square$statistic),
    chisq_p = square$p.value,
    small = sum(square$expected < 5),
    quantiles = unname(quantile(case$values, c(0, 0.1, 0.25, 0.5, 0.75, 0.9, 1), type = 7)),
    mean = mean(case$values),
    sd = sd(case$values)
  )
}

cases <- fromJSON(file("stdin"), simplifyDataFrame = FALSE, simplifyMatrix = FALSE)
write(toJSON(list(version = R.version.string, cases = lapply(cases, one)), digits = NA), stdout())
