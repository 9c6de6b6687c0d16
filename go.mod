module example.org/hearthbench

go 1.26
