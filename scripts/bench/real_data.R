# Ten open data sets as x, y, value, fold; and gstat's ordinary kriging of each left-out fold.
# Rscript scripts/bench/real_data.R FOLDER       (R packages gstat, sp, MASS, nlme, RandomFields)
suppressPackageStartupMessages({library(sp); library(gstat)})
folder <- commandArgs(TRUE)[1]
load_from <- function(name, package) { e <- new.env(); data(list = name, package = package, envir = e); e }
meuse <- load_from("meuse", "sp")$meuse
jura <- load_from("jura", "gstat"); jura <- rbind(jura$prediction.dat, jura$validation.dat)
walker <- load_from("walker", "gstat")$walker; walker <- as.data.frame(walker)
coal <- as.data.frame(load_from("coalash", "gstat")$coalash)
sic <- load_from("sic97", "gstat")$sic_full; sic <- as.data.frame(sic)
topo <- load_from("topo", "MASS")$topo
wheat <- as.data.frame(load_from("Wheat2", "nlme")$Wheat2)
soil <- read.table(gzfile(system.file("data", "soil.txt.gz", package = "RandomFields")), header = TRUE)
xy <- function(d) d[, intersect(c("x.coord", "x", "X", "Xloc", "coords.x1", "longitude"), names(d))[1]]
yy <- function(d) d[, intersect(c("y.coord", "y", "Y", "Yloc", "coords.x2", "latitude"), names(d))[1]]
sets <- list(
  meuse = list(meuse, log(meuse$zinc)), "Jura Cd" = list(jura, log(jura$Cd)), "Jura Co" = list(jura, jura$Co),
  "Jura Pb" = list(jura, log(jura$Pb)), Walker = list(walker, sqrt(walker$V)),
  "coal ash" = list(coal, coal$coalash), rainfall = list(sic, sqrt(sic$rainfall)),
  wheat = list(wheat, wheat$yield), "soil moisture" = list(soil, soil$moisture), topo = list(topo, topo$z))
answer <- NULL
for (name in names(sets)) {
  set.seed(1)
  d <- data.frame(x = xy(sets[[name]][[1]]), y = yy(sets[[name]][[1]]), value = sets[[name]][[2]])
  d <- d[complete.cases(d), ]
  d <- d[!duplicated(d[, 1:2]), ]
  d$value <- (d$value - mean(d$value)) / sd(d$value)
  d$fold <- sample(rep(1:10, length.out = nrow(d)))
  write.csv(d, file.path(folder, paste0(name, ".csv")), row.names = FALSE)
  for (fold in 1:10) {
    train <- d[d$fold != fold, ]; test <- d[d$fold == fold, ]
    coordinates(train) <- ~x + y; coordinates(test) <- ~x + y
    v <- variogram(value ~ 1, train)
    best <- NULL; least <- Inf
    for (kind in c("Exp", "Sph")) {
      fit <- try(suppressWarnings(fit.variogram(v, vgm(0.7, kind, max(v$dist) / 3, 0.3))), silent = TRUE)
      if (inherits(fit, "try-error") || any(fit$range < 0) || any(fit$psill < 0)) next
      if (attr(fit, "SSErr") < least) { least <- attr(fit, "SSErr"); best <- fit }
    }
    if (is.null(best)) best <- vgm(0.7, "Exp", max(v$dist) / 3, 0.3)
    k <- krige(value ~ 1, train, test, best, debug.level = 0)
    answer <- rbind(answer, data.frame(name, value = test$value, mean = k$var1.pred, sd = sqrt(k$var1.var)))
  }
}
write.csv(answer, file.path(folder, "gstat.txt"), row.names = FALSE)
