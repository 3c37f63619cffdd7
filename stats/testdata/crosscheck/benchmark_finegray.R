# Times a subdistribution hazards model by survival's finegray and coxph, for
# the benchmark: data are made by the formulas that the benchmark uses.
# Argument: rows. Prints seconds and the first coefficient.
suppressPackageStartupMessages(library(survival))
n <- as.integer(commandArgs(trailingOnly = TRUE)[1])
i <- seq_len(n)
frac <- function(x) x - floor(x)
d <- data.frame(sapply(1:5, function(j) frac(i * sqrt(4 * j + 2)) - 0.5))
names(d) <- paste0("x", 1:5)
time <- -log(1 - frac(i * 0.7548776662466927)) * exp(-0.5 * rowSums(d))
d$exit <- 1 + floor(pmin(103, 40 * time))
d$end <- factor(ifelse(time * 40 > 103, 0, floor(4 * frac(i * 0.5698402909980532))), 0:3, c("0", "1", "2", "2b"))
levels(d$end)[4] <- "2"
seconds <- system.time({
  e <- finegray(Surv(exit, end) ~ ., d, etype = "1")
  f <- coxph(Surv(fgstart, fgstop, fgstatus) ~ x1 + x2 + x3 + x4 + x5, e, weights = fgwt)
})[["elapsed"]]
cat(seconds, format(coef(f)[1], digits = 12), "\n")
