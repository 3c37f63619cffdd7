# Tests of trend, pairs, clusters and the largest of several weights, of the
# log-rank family, by R's survival package and in base R where it has none, on the
# cases given as JSON on standard input; JSON on standard output.
#
#   Rscript logrankfamily.R < logrankfamily_input.json > logrankfamily_output.json
#
# makes the stored output that is compared without R.
suppressPackageStartupMessages({
  library(survival)
  library(jsonlite)
})
options(warn = -1)

# Sums of weighted tests, time by time.
sums <- function(case, powers, k) {
  m <- nrow(powers)
  u <- matrix(0, m, k)
  v <- array(0, c(m, m, k, k))
  for (s in unique(case$stratum)) {
    mine <- case$stratum == s
    entry <- case$entry[mine]; exit <- case$exit[mine]; status <- case$status[mine]; group <- case$group[mine]
    left <- 1
    for (at in sort(unique(exit[status == 1]))) {
      risk <- entry < at & at <= exit
      event <- risk & exit == at & status == 1
      n <- sum(risk); d <- sum(event)
      ng <- tabulate(group[risk] + 1, k); dg <- tabulate(group[event] + 1, k)
      w <- left^powers[, 1] * (1 - left)^powers[, 2]
      u <- u + outer(w, dg - d * ng / n)
      if (n > 1) v <- v + outer(outer(w, w), d * (n - d) / (n - 1) * (diag(ng / n, k) - outer(ng, ng) / n^2))
      left <- left * (n - d) / n
    }
  }
  list(u = u, v = v)
}

# P(max |Z| < c) of three or two normal variables by nested integration.
inside <- function(c, r) {
  two <- function(mean, cov) { # P(|Y1| < c, |Y2| < c)
    s1 <- sqrt(cov[1, 1]); b <- cov[1, 2] / cov[1, 1]; s2 <- sqrt(max(cov[2, 2] - b * cov[1, 2], 1e-12))
    f <- function(y) dnorm(y, mean[1], s1) * (pnorm(c, mean[2] + b * (y - mean[1]), s2) - pnorm(-c, mean[2] + b * (y - mean[1]), s2))
    # In pieces, so that a narrow density is not missed.
    at <- sort(unique(pmin(c, pmax(-c, c(-c, c, mean[1] + s1 * (-8:8))))))
    sum(sapply(seq_len(length(at) - 1), function(k) integrate(f, at[k], at[k + 1], rel.tol = 1e-9, abs.tol = 1e-13)$value))
  }
  if (nrow(r) == 2) return(two(c(0, 0), r))
  b <- r[2:3, 1]
  cov <- r[2:3, 2:3] - outer(b, b)
  g <- function(z) sapply(z, function(z1) dnorm(z1) * two(b * z1, cov))
  integrate(g, -c, 0, rel.tol = 1e-7)$value + integrate(g, 0, c, rel.tol = 1e-7)$value
}

answer <- function(case) {
  k <- max(case$group) + 1
  out <- list()
  late <- any(case$entry > 0)
  y <- if (late) Surv(case$entry, case$exit, case$status) else Surv(case$exit, case$status)
  scores <- (0:(k - 1))^1.5
  d <- data.frame(score = scores[case$group + 1], g = factor(case$group), st = case$stratum, id = case$cluster)
  d$y <- y
  s <- sums(case, rbind(c(0, 0), c(1, 0), c(0, 1), c(1, 1)), k)
  trend <- function(a) {
    u <- sum(scores * s$u[a, ])
    u / sqrt(drop(scores %*% s$v[a, a, , ] %*% scores))
  }
  out$trend <- c(trend(1), trend(4))
  # The score test of the discrete model has the hypergeometric variance.
  if (!late) {
    f <- coxph(y ~ score + strata(st), d, ties = "exact", control = coxph.control(iter.max = 0))
    out$discrete <- as.vector(f$score)
    sd <- survdiff(y ~ g + strata(st), d)
    o <- rowSums(sd$obs) - rowSums(sd$exp)
    out$survdiff <- sum(scores * o)^2 / drop(scores %*% sd$var %*% scores)
  }
  f <- coxph(y ~ g + strata(st), d, cluster = id, ties = "breslow")
  out$cluster <- as.vector(f$rscore)
  f <- coxph(y ~ score + strata(st), d, cluster = id, ties = "breslow")
  out$clustertrend <- as.vector(f$rscore)
  pairs <- combn(k, 2)
  p <- apply(pairs, 2, function(pair) {
    keep <- (case$group + 1) %in% pair
    part <- list(entry = case$entry[keep], exit = case$exit[keep], status = case$status[keep], group = match(case$group[keep] + 1, pair) - 1, stratum = case$stratum[keep])
    s <- sums(part, rbind(c(0, 0)), 2)
    pchisq(s$u[1, 1]^2 / s$v[1, 1, 1, 1], 1, lower.tail = FALSE)
  })
  out$pairs <- p
  out$holm <- p.adjust(p, "holm")
  out$bh <- p.adjust(p, "BH")
  # The first group against the others.
  two <- case
  two$group <- as.integer(case$group > 0)
  s <- sums(two, rbind(c(0, 0), c(1, 0), c(0, 1), c(1, 1)), 2)
  v <- s$v[, , 1, 1]
  out$z <- s$u[, 1] / sqrt(diag(v))
  out$correlation <- cov2cor(v)
  if (all(is.finite(out$z))) {
    tail <- function(which) 1 - inside(max(abs(out$z[which])), cov2cor(v)[which, which])
    out$two <- tail(c(2, 3))
    # Some cases, for it takes long.
    out$three <- if (length(case$exit) %% 8 == 0) tryCatch(tail(c(1, 2, 3)), error = function(e) NA) else NA
  }
  out
}

cases <- fromJSON(file("stdin"), simplifyDataFrame = FALSE)
cat(toJSON(list(version = paste(R.version.string, "survival", packageVersion("survival")),
                cases = lapply(cases, answer)),
           auto_unbox = FALSE, digits = I(15), na = "string"), "\n")
