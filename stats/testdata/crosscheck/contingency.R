# Contingency tables by base R, on the cases given as JSON on standard input;
# JSON on standard output.
#
#   Rscript contingency.R < contingency_input.json > contingency_output.json
#
# makes the stored output that is compared without R.
suppressPackageStartupMessages({
  library(jsonlite)
  library(survival)
})
options(warn = -1)

stratified <- function(case) {
  strata <- case$strata
  keep <- Filter(function(s) s[1] + s[2] > 0 && s[3] + s[4] > 0 && s[1] + s[3] > 0 && s[2] + s[4] > 0, strata)
  if (length(keep) == 0) return(NULL)
  # R's mantelhaen.test wants two strata: an uninformative one is added.
  if (length(keep) == 1) keep <- c(keep, list(c(0, 1, 0, 1)))
  x <- array(unlist(lapply(keep, function(s) matrix(s, 2, byrow = TRUE))), c(2, 2, length(keep)))
  plain <- mantelhaen.test(x, correct = FALSE, conf.level = case$level)
  corrected <- mantelhaen.test(x, correct = TRUE)
  precise <- mantelhaen.test(x, exact = TRUE, conf.level = case$level)
  list(
    cmh = c(plain$statistic, plain$p.value), corrected = c(corrected$statistic, corrected$p.value),
    pooled = c(plain$estimate, plain$conf.int),
    exact = c(precise$estimate, precise$conf.int), exact_p = precise$p.value
  )
}

general <- function(case) {
  x <- array(unlist(lapply(case$cubes, function(t) do.call(rbind, t))), c(length(case$cubes[[1]]), length(case$cubes[[1]][[1]]), length(case$cubes)))
  test <- mantelhaen.test(x)
  c(test$statistic, test$parameter, test$p.value)
}

pairs <- function(case) {
  p <- case$pairs
  x <- matrix(p, 2, byrow = TRUE)
  n <- p[2] + p[3]
  if (n == 0) return(NULL)
  plain <- mcnemar.test(x, correct = FALSE)
  corrected <- mcnemar.test(x, correct = TRUE)
  binomial <- binom.test(p[2], n, conf.level = case$level)
  odds <- binomial$conf.int / (1 - binomial$conf.int)
  midp <- min(1, 2 * pbinom(min(p[2], p[3]), n, 0.5) - dbinom(p[2], n, 0.5))
  list(plain = c(plain$statistic, plain$p.value), corrected = c(corrected$statistic, corrected$p.value),
    exact = binomial$p.value, midp = midp, odds = odds)
}

trend <- function(case) {
  test <- prop.trend.test(case$events, case$n, case$score)
  # Mantel's statistic from the correlation of all persons' scores.
  k <- case$events; n <- case$n
  score <- rep(rep(case$score, 2), c(k, n - k))
  outcome <- rep(c(1, 0), c(sum(k), sum(n) - sum(k)))
  # The exact distribution by going through all tables.
  grid <- as.matrix(expand.grid(lapply(n, function(n) 0:n)))
  grid <- grid[rowSums(grid) == sum(k), , drop = FALSE]
  p <- apply(grid, 1, function(x) exp(sum(lchoose(n, x)) - lchoose(sum(n), sum(k))))
  centre <- sum(k) * sum(case$score * n) / sum(n)
  t <- abs(grid %*% case$score - centre)
  seen <- abs(sum(case$score * k) - centre)
  c(test$statistic, test$p.value, (sum(n) - 1) * cor(score, outcome)^2, sum(p[t >= seen - 1e-7]),
    chisq.test(rbind(k, n - k), correct = FALSE)$statistic - test$statistic)
}

# Conditional logistic regression of sets of one case and some controls.
matched <- function(case) {
  rows <- do.call(rbind, lapply(seq_along(case$sets), function(i) {
    s <- case$sets[[i]]
    data.frame(set = i, case = c(1, rep(0, s[2])), exposed = c(s[1], rep(1:0, c(s[3], s[2] - s[3]))))
  }))
  fit <- clogit(case ~ exposed + strata(set), rows, method = "exact",
    control = coxph.control(eps = 1e-12, toler.chol = 1e-13, iter.max = 50))
  unname(exp(coef(fit)))
}

one <- function(case) {
  wide <- do.call(rbind, case$wide)
  square <- chisq.test(wide, correct = FALSE)
  g <- 2 * sum(ifelse(wide > 0, wide * log(wide / square$expected), 0))
  long <- which(wide >= 0, arr.ind = TRUE)
  linear <- (sum(wide) - 1) * cor(rep(case$u[long[, 1]], wide), rep(case$v[long[, 2]], wide))^2
  list(
    strata = stratified(case), general = general(case), pairs = pairs(case), trend = trend(case),
    fisher = fisher.test(wide, workspace = 2e7)$p.value,
    g = c(g, pchisq(g, square$parameter, lower.tail = FALSE)),
    residuals = unname(as.vector(t(square$stdres))), linear = linear, matched = matched(case)
  )
}

cases <- fromJSON(file("stdin"), simplifyDataFrame = FALSE, simplifyMatrix = FALSE)
write(toJSON(list(version = c(R.version.string, paste("survival", packageVersion("survival"))), cases = lapply(cases, one)), digits = NA), stdout())
