# Times a job of R's packages survival and cmprsk, for the benchmarks. Arguments:
# the job, a file of columns, the number of rows, the columns as name:type, and
# what else the job wants. Prints the seconds of one run, without the time to
# start and to read, those of the processor, and a number found.
suppressPackageStartupMessages({
  library(survival)
  library(cmprsk)
})
args <- commandArgs(trailingOnly = TRUE)
n <- as.integer(args[3])
file <- file(args[2], "rb")
d <- list()
for (column in strsplit(strsplit(args[4], " ")[[1]], ":")) {
  size <- if (column[2] == "double") 8L else 4L
  d[[column[1]]] <- readBin(file, column[2], n, size, endian = "little")
}
close(file)
x <- as.matrix(as.data.frame(d[grep("^x", names(d))]))
rows <- if (is.null(d$entry)) Surv(d$exit, d$status) else Surv(d$entry, d$exit, d$status)
curves <- function() survfit(rows ~ d$group, conf.type = "log-log")
coxfit <- if (is.null(d$entry)) coxph.fit else agreg.fit
job <- switch(args[1],
  "curves" = function() quantile(curves(), 0.5)$quantile[1],
  "curves and log-rank" = function() {
    curves()
    survdiff(rows ~ d$group)$chisq
  },
  "cox" = function() sqrt(coxph(rows ~ x, ties = "efron")$var[1]),
  "cox fit" = function() {
    sqrt(coxfit(x, rows, NULL, NULL, NULL, coxph.control(), NULL, "efron", NULL)$var[1])
  },
  "clustered cox" = function() sqrt(coxph(rows ~ x, cluster = d$group, ties = "efron")$var[1]),
  "incidence" = function() {
    end <- factor(d$x1, 0:2)
    f <- survfit(Surv(d$exit, end) ~ d$group, se.fit = FALSE)
    f <- f[1, ]
    f$pstate[findInterval(400, f$time), 2]
  },
  "gray" = function() cuminc(d$exit, d$x1, d$group)$Tests[1, 1],
  "bootstrap" = function() {
    members <- split(seq_len(n), d$group)
    sd(replicate(as.integer(args[5]), {
      drawn <- unlist(members[sample.int(length(members), replace = TRUE)])
      quantile(survfit(rows[drawn] ~ 1, conf.type = "log-log"), 0.5)$quantile
    }))
  }
)
seconds <- 0
processor <- 0
runs <- 0
while (seconds < 1) {
  took <- system.time(answer <- job())
  seconds <- seconds + took[["elapsed"]]
  processor <- processor + took[["user.self"]] + took[["sys.self"]]
  runs <- runs + 1
}
cat(seconds / runs, processor / runs, format(unname(answer), digits = 12), "\n")
