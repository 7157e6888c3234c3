"""The invented shop's sheets, cell by cell as they stand on the morning of Monday 2 March 2026.

`sheet_files.py` says how a cell is written. What must come of them stands in `shop/story.csv` and `shop/dirt.csv`,
worked out by hand; nothing here knows it.
"""

from sheet_files import File, Sheet, rows

# The office's workbook: new machines, one row each. Two title rows above the header, a total below. The pre-delivery
# inspection and the quality check were noted here until the inspection log of December 2025 took over.
NEW_MACHINES = """
Saltmarsh Motorcycles - new machines
sold, to be handed over, and in stock; kept by the office
.
Stock No | Reg | Frame No | Make | Model | Type | cc | Price £ | First registered | Arrived | Sold | Handover | Customer | Phone | PDI | PDI by | QC | QC by | Notes
S2301 | UT73 YRC | GX3TR400ARD000118 | Kestermoor | Trestle 400 | Motorcycle | #398 | #4899 | @2024-02-08 | @2024-01-15 | @2024-02-05 | @2024-02-12 | Mr G Pascoe | 01632 960104 | @2024-02-07 | ML | @2024-02-08 | PO |
S2409 | UJ74 XAM | GX1FM125ARD000342 | Tarrowby | Fathom 125 | Motorcycle | #125 | #2749 | @2024-09-18 | @2024-08-29 | @2024-09-14 | @2024-09-20 | Miss A Trewin | 07700 900112 | @2024-09-17 | DH | @2024-09-18 | ML |
S2501 | JU74 VNH | GX1FM125ASD000017 | Tarrowby | Fathom 125 | Motorcycle | #125 | #2749 | @2025-02-07 | @2025-01-20 | @2025-02-03 | @2025-02-10 | Mr D Okafor | 07700 900127 | @2025-02-06 | ML | @2025-02-07 | PO |
S2504 | JT25 ZHG | GX3GN125ASD000061 | Kestermoor | Gantry 125 | Motorcycle | #124 | #2599 | @2025-05-08 | @2025-04-14 | @2025-05-02 | @2025-05-12 | Mrs H Lindqvist | 07700 900138 | @2025-05-07 | DH | @2025-05-08 | PO | clock in km
S2505 | TU25 WDL | GX1FM125ASD000088 | Tarrowby | Fathom 125 | Motorcycle | #125 | #2749 | @2025-05-16 | @2025-04-14 | @2025-05-12 | @2025-05-20 | Mr R Anstey | 07700 900141 | @2025-05-15 | ML | @2025-05-16 | DH | delivers parcels, high miles
S2508 | TU25 GKS | GX3TR400ASD000203 | Kestermoor | Trestle 400 | Motorcycle | #398 | #4999 | @2025-06-03 | @2025-05-12 | @2025-05-30 | @2025-06-05 | Ms F Delacroix-Hume | 01632 960155 | @2025-06-02 | DH | @2025-06-03 | ML |
S2509 | JT25 TKE | GX1FM125ASD000097 | Tarrowby | Fathom 125 | Motorcycle | #125 | #2749 | @2025-06-11 | @2025-05-12 | @2025-06-07 | @2025-06-14 | Mr S Bellamy | 07700 900163 | @2025-06-10 | ML | @2025-06-11 | PO |
S2510 | JT25 EMR | GX1FM125ASD000104 | Tarrowby | Fathom 125 | Motorcycle | #125 | #2749 | @2025-06-30 | @2025-06-09 | @2025-06-26 | @2025-07-02 | Mr T Marchetti | 07700 900174 | @2025-06-27 | DH | @2025-06-30 | PO |
S2512 | JU25 FXB | GX1FM125ASD000111 | Tarrowby | Fathom 125 | Motorcycle | #125 | #2749 | @2025-07-18 | @2025-06-09 | @2025-07-15 | @2025-07-21 | Miss K Yeo | 07700 900185 | @2025-07-17 | ML | @2025-07-18 | DH |
S2513 | UJ25 HWC | GX1FM125ASD000119 | Tarrowby | Fathom 125 | Motorcycle | #125 | #2749 | @2025-07-30 | @2025-07-07 | @2025-07-26 | @2025-08-01 | Mr B Hathersage | 01632 960196 | @2025-07-29 | DH | @2025-07-30 | ML |
S2515 | JT25 REK | GX1FM125ASD000126 | Tarrowby | Fathom 125 | Motorcycle | #125 | #2749 | @2025-08-13 | @2025-07-07 | @2025-08-09 | @2025-08-15 | Mr J Wickes | 07700 900207 | | | | | went out on the Friday before the fair
.
S2518 | UT75 DPN | GX1FM125ASD000151 | Tarrowby | Fathom 125 | Motorcycle | #125 | #2799 | @2025-10-02 | @2025-09-15 | @2025-09-27 | @2025-10-06 | Ms N Sandoval | 07700 900218 | @2025-10-01 | ML | @2025-10-02 | DH |
S2520 | UT75 SGF | GX2SP125ASD000077 | Wrenfold | Spindle 125 | Scooter | #124 | #2399 | 3-Nov-25 | @2025-10-13 | @2026-01-27 | @2026-02-02 | Mr P Arkwright | 07700 900229 | | | | | ex-demonstrator; clock in km
S2521 | JU75 CWN | GX1FM125ASD000158 | Tarrowby | Fathom 125 | Motorcycle | #125 | #2799 | @2025-11-06 | @2025-10-13 | @2025-11-03 | @2025-11-10 | Mr L Quickfall | 07700 900230 | @2025-11-05 | DH | @2025-11-06 | PO |
S2522 | JU75 SCX | GX1MR250ASD000012 | Tarrowby | Mere 250 | Motorcycle | #249 | #3699 | @2025-11-20 | @2025-10-27 | @2025-11-15 | @2025-11-24 | Mrs E Thorne | 01632 960241 | @2025-11-19 | ML | @2025-11-20 | PO | handbook not here yet
S2523 | JT75 BDK | GX1FM125ASD000163 | Tarrowby | Fathom 125 | Motorcycle | #125 | #2799 | @2025-12-12 | @2025-11-17 | @2025-12-08 | @2025-12-15 | Mr C Ferreby | 07700 900252 |
S2524 | JT75 MEX | GX2TH050ASD000402 | Wrenfold | thimble 50 | Moped | #49 | #1799 | @2025-12-12 | @2025-11-17 | @2025-12-09 | @2025-12-16 | Miss O Banerjee | 07700 900263 |
S2525 | JU75 NRP | GX2TH050ASD000409 | Wrenfold | Thimble 50 | Moped | #49 | #1799 | @2025-12-15 | @2025-11-17 | @2025-12-11 | @2025-12-17 | Mr W Stainforth | 07700 900274 |
S2526 | UJ75 RBW | GX3GN125ASD000092 | Kestermoor | Gantry 125 | Motorcycle | #124 | #2649 | @2025-12-18 | @2025-11-24 | @2025-12-15 | @2025-12-22 | Ms I Rossiter | 07700 900285 | | | | | clock in km
S2527 | TU75 PZA | GX1FM125ASD000170 | Tarrowby | Fathom 125 | Motorcycle | #125 | #2799 | @2025-12-31 | @2025-12-08 | @2025-12-29 | @2026-01-05 | Mr V Holloway | 07700 900296 |
S2528 | TU75 FHR | GX1FM125ASD000174 | Tarrowby | Fathom 125 | Motorcycle | #125 | #2799 | @2026-01-08 | @2025-12-08 | @2026-01-03 | @2026-01-12 | Miss U Penhale | 07700 900307 |
S2529 | JU75 ADT | GX1FM125ASD000181 | Tarrowby | Fathom 125 | Motorcycle | #125 | #2799 | @2026-01-15 | @2025-12-08 | @2026-01-12 | @2026-01-19 | Mr Z Adeyemi | 07700 900318 |
S2530 | UJ75 CYE | GX1FM125ASD000185 | Tarrowby | Fathom 125 | Motorcycle | #125 | #2799 | @2026-01-16 | @2026-01-05 | @2026-01-14 | @2026-01-21 | Ms R Colquhoun | 01632 960329 |
S2531 | TU75 BSV | GX1FM125ASD000190 | Tarrowby | Fathom 125 | Motorcycle | #125 | #2799 | @2026-01-22 | @2026-01-05 | @2026-01-19 | @2026-01-26 | Mr E Jessop | 07700 900330 |
S2532 | UT75 KLD | GX1FM125ATD000004 | Tarrowby | Fathom 125 | Motorcycle | #125 | #2799 | @2026-01-29 | @2026-01-12 | @2026-01-26 | @2026-02-02 | Mr H Nakagawa | 07700 900341 |
S2534 | TU75 TLB | GX4HM125ATD000021 | Ullapine | Hamper 125 | Scooter | #125 | #2249 | @2026-02-04 | @2026-01-12 | @2026-01-31 | @2026-02-06 | Mrs J Fairbrother | 07700 900352 | | | | | handbook not here yet
S2535 | UJ75 GVS | GX1FM125ATD000009 | Tarrowby | Fathom 125 | Motorcycle | #125 | #2799 | @2026-02-05 | @2026-01-19 | @2026-02-02 | @2026-02-09 | Mr Y Castellane | 07700 900363 |
S2539 | UT75 JDA | GX2SP125ATD000013 | Wrenfold | Spindle 125 | Scooter | #124 | #2399 | @2026-02-18 | @2026-01-26 | @2026-02-14 | @2026-02-20 | Ms B Ormerod | #7700900374 | | | | | clock in km
.
S2540 | JT26 KVF | GX1FM125ATD000022 | Tarrowby | Fathom 125 | Motorcycle | #125 | #2799 | @2026-03-02 | @2026-02-09 | @2026-02-23 | @2026-03-02 | Mr A Dunmore | 07700 900385 | | | | | collects at 4 pm
S2541 | JU75 LBH | GX3GN125ATD000007 | Kestermoor | Gantry 125 | Motorcycle | #124 | #2649 | @2026-02-24 | @2026-02-02 | @2026-02-21 | @2026-03-05 | Miss S Harcombe | 07700 900396 | | | | | clock in km
S2542 | TU75 MTG | GX1FM125ATD000027 | Tarrowby | Fathom 125 | Motorcycle | #125 | #2799 | @2026-02-25 | @2026-02-09 | @2026-02-20 | @2026-03-06 | Mr M Eccleston | 01632 960407 |
S2543 | UJ75 NSE | GX1FM125ATD000030 | Tarrowby | Fathom 125 | Motorcycle | #125 | #2799 | @2026-02-26 | @2026-02-16 | @2026-02-27 | | Mrs D Vantongeren | 07700 900418 | | | | | will ring about a day
S2544 | UT75 PWR | GX1FM125ATD000033 | Tarrowby | Fathom 125 | Motorcycle | #125 | #2799 | @2026-02-26 | @2026-02-16 | @2026-02-24 | @2026-03-09 | Mr K Blenkin | 07700 900429 |
S2533 | | GX2TH050ATD000006 | Wrenfold | Thimble 50 | Moped | #49 | #1799 | | @2026-01-26 | @2026-02-24 | tbc | Mr O Lacey | 07700 900430 | | | | | waiting for his licence
S2536 | | GX2TH050ATD000011 | Wrenfold | Thimble 50 | Moped | #49 | #1799 | | @2026-01-26 | @2026-02-23 | @2026-03-04 | Miss P Anwar | 07700 900441 | | | | | plate not back yet
S2537 | | GX1FM125ATD000038 | Tarrowby | Fathom 125 | Motorcycle | #125 | #2799 | | @2026-02-16 |
S2538 | | GX2SP125ATD000019 | Wrenfold | Spindle 125 | Scooter | #124 | #2399 | | @2026-02-16 | | | | | | | | | clock in km
.
Total | | | | | | | #102113
"""

# Used machines: taken in part exchange, sold on, or the customers' own that come for their service.
USED = """
No | Registration | VIN | Manufacturer | Model | Body | Capacity | Date of 1st reg | Collected by customer | MOT until | Odometer | Seen on | Petrol | Keeper | Tel | Comments
U101 | UT19 UGD | GX1MR250AKD000044 | Tarrowby | Mere 250 | motorcycle | #249 | @2019-04-10 | @2025-08-11 | @2026-02-10 | 11,190 | @2025-07-28 | E10 | Mr N Treloar | 07700 900501 | sold on
U102 | JU23 WFK | GX4HM125APD000210 | Ullapine | Hamper 125 | scooter | #125 | @2023-03-15 | @2025-07-14 | | 4,280 | @2025-07-01 | | Ms C Abernathy | 07700 900512 | sold on, no certificate needed yet
 | JT21 VAR | GX1FM125AMD000071 | Tarrowby | Fathom 125 | motorcycle | #125 | @2021-05-20 | | #d46101 | 8,410 | @2026-01-19 | E10 | Mr F Gilmartin | 07700 900523 | own machine
 | tu22 xnc | GX3TR400AND000035 | Kestermoor | Trestle 400 | motorcycle | #398 | @2022-06-01 | | #d46300 | 6,220 | @2026-02-02 | E10 | Mrs V Stanhope | 01632 960534 | own machine
 | UJ18 YHP | | Tarrowby | Mere 250 | motorcycle | #249 | | | | 21,050 miles | @2026-02-10 | | Mr I Kowalczyk | 07700 900545 | own machine, papers not seen
 | UT20 ZDV | GX1FM125ALD000016 | Tarrowby | Fathom 125 | motorcycle | #125 | @2020-03-30 | | @2026-04-01 | 15,300 | @2026-01-26 | E10 | Miss L Prideaux | 07700 900556 | own machine
 | JT19 AKM | GX1FM125AKD000059 | Tarrowby | Fathom 125 | motorcycle | #125 | @2019-03-28 | | @2026-05-20 | 9,870 | @2026-01-26 | E10 | Mr G Sowerby | 07700 900567 | own machine
 | JU20 BRN | GX4PN120ALD000003 | Ullapine | Pantry 1.2 | car | #1198 | @2020-06-12 | | @2026-09-11 | 40,210 | @2026-01-05 | E10 | the shop | | courtesy car
U098 | JT22 LPA | GX1FM125AND000048 | Tarrowby | Fathom 125 | motorcycle | #125 | @2022-04-11 | @2024-02-16 | @2026-08-14 | 4,980 | @2026-02-12 | E10 | Ms T Underhay | 07700 900578 | sold on
U105 | JT25 SLE | GX1FM125ASD000079 | Tarrowby | Fathom 125 | motorcycle | #125 | @2025-05-16 | @2025-08-25 | | 1,310 | @2026-02-09 | E10 | Mr O Castlemaine | 07700 900589 | sold on
U104 | UJ75 DMA | GX1FM125ASD000155 | Tarrowby | Fathom 125 | motorcycle | #125 | @2025-11-27 | | | 612 | @2026-02-27 | E10 | | | demonstrator
U103 | | | Tarrowby | Mere 250 | motorcycle | #249 | | | | | | | | | just in, papers to follow
 | JU24 PKE | GX1FM125AND000052 | Tarrowby | Fathom 125 | motorcycle | #125 | @2022-06-14 | | @2026-09-30 | 7,030 | @2026-01-19 | E10 | Mr R Lathom | 07700 900590 | own machine
 | UT17 FGE | GX1MR250AHD000027 | Tarrowby | Mere 250 | motorcycle | #249 | @2017-05-11 | | @2026-06-02 | 14,020 | @2025-11-08 | E5 | Miss H Bywater | 07700 900617 | own machine, laid up since November, SORN
"""

# The mileage log, saved by an old spreadsheet program: semicolons, Windows-1252.
MILEAGES = """
Date | Reg | Clock | Seen by | Remarks
12/02/2024 | UT73 YRC | 14 | ML | handover
20/09/2024 | UJ74 XAM | 12 | DH | handover
14/01/2025 | UJ74 XAM | 790 | ML |
10/02/2025 | JU74 VNH | 13 | ML | handover
12/05/2025 | JT25 ZHG | 20 | DH | handover, km
20/05/2025 | TU25 WDL | 12 | ML | handover
05/06/2025 | TU25 GKS | 14 | DH | handover
14/06/2025 | JT25 TKE | 11 | ML | handover
02/07/2025 | JT25 EMR | 13 | DH | handover
20/07/2025 | TU25 WDL | 900 km | ML | he read his phone
21/07/2025 | JU25 FXB | 12 | ML | handover
01/08/2025 | UJ25 HWC | 11 | DH | handover
04/08/2025 | JT25 TKE | 412 miles | PO |
04/08/2025 | JT25 EMR | 240 | PO |
15/08/2025 | JT25 REK | 12 | PO | handover
06/10/2025 | UT75 DPN | 12 | ML | handover
20/10/2025 | JT25 EMR | 705 | DH |
27/10/2025 | JT25 TKE | 760 | DH |
27/10/2025 | TU25 WDL | 1,540 | DH |
3-Nov-25 | UT75 SGF | 15 | PO | on the demonstrator plate, km
03/11/2025 | JU74 VNH | 1,240 | ML |
10/11/2025 | JU75 CWN | 13 | DH | handover
24/11/2025 | JU75 SCX | 14 | ML | handover
01/12/2025 | JT25 EMR | 905 | DH |
08/12/2025 | JU75 CWN | 96 | DH | café run, £5 for parking
08/12/2025 | UT75 SGF | 310 | PO | km
10/12/2025 | JU25 FXB | 1,050 | ML |
10/12/2025 | JT25 ZHG | 2,100 | ML | km
15/12/2025 | " jt75 bdk " | 12 | DH | handover
16/12/2025 | JT75 MEX | 12 | DH | handover
17/12/2025 | JU75 NRP | 14 | ML | handover
22/12/2025 | UJ75 RBW | 18 | ML | handover, km
.
05/01/2026 | TU75 PZA | 13 | DH | handover
05/01/2026 | UJ25 HWC | 540 | DH |
05/01/2026 | TU25 GKS | 1,480 | PO |
06/01/2026 | JT75 BDK | 180 | ML |
09/01/2026 | JT25 REK | 760 | ML |
12-Jan-26 | TU75 FHR | 11 | DH | handover
12-Jan-26 | JT25 EMR | 1,204 | DH |
14/01/2026 | JU25 FXB | 11332 | PO |
15/01/2026 | UJ75 RBW | 420 | ML | km
19/01/2026 | JU75 ADT | 13 | DH | handover
19/01/2026 | UT75 SGF | 520 | PO | km
20/01/2026 | TU75 PZA | 170 | DH |
20/01/2026 | JT75 MEX | 48 | DH |
21/01/2026 | UJ75 CYE | 11 | ML | handover
21/01/2026 | JU75 NRP | 47 | ML |
22/01/2026 | TU75 FHR | 118 | PO |
26/01/2026 | TU75 BSV | 12 | PO | handover
27/01/2026 | jt75bdk | 342 | ML |
02/02/2026 | JU75 CWN | 210 | DH |
02/02/2026 | TU75 FHR | 215 | PO |
02/02/2026 | JU75 ADT | 95 | DH |
02/02/2026 | UT75 SGF | 540 | PO | handover, km
02/02/2026 | JT25 EMR | 1,140 | ML |
03/02/2026 | TU25 GKS | 152 | PO |
04/02/2026 | UJ75 CYE | 90 | ML |
05/02/2026 | UJ75 RBW | 744 | ML | km
05/02/2026 | UT19 UGD | 11,905 | ML |
06/02/2026 | TU75 TLB | 12 | PO | handover
09/02/2026 | UJ75 GVS | 12 | DH | handover
09/02/2026 | TU75 PZA | 331 | DH |
09/02/2026 | TU75 BSV | 88 | PO |
09/02/2026 | UT75 DPN | 1,020 | ML |
10/02/2026 | TU75 BSV | 5,160 | PO |
10/02/2026 | UJ74 XAM | 3,310 | ML |
12/02/2026 | TU75 FHR | 318 | PO |
12/02/2026 | JT25 TKE | 1,204 | DH |
16/02/2026 | UT73 YRC | 6,010 | ML |
16/02/2026 | JU75 ADT | 178 | DH |
16/02/2026 | UT75 SGF | 600 | PO | km
16/02/2026 | UT75 KLD | n/k | PO | customer away
17/02/2026 | UJ75 GVS | 41 | DH |
18/02/2026 | UJ75 CYE | 161 | ML |
18/02/2026 | JU25 FXB | 1,205 | ML |
18/02/2026 | TU25 WDL | 2,740 | ML |
19/02/2026 | JU74 VNH | 1,850 | ML |
20/02/2026 | JT75 BDK | 545 | DH |
20/02/2026 | TU75 TLB | 66 | PO |
20/02/2026 | UT75 JDA | 20 | DH | handover, km
20/02/2026 | JT25 ZHG | 2,420 | ML | km
20/02/2026 | JU75 NRP | 75 | ML |
20/02/2026 | TU75 FHB | 402 | PO |
31/02/2026 | UJ75 GVS | 95 | DH |
23/02/2026 | TU75 FHR | 420 | PO |
23/02/2026 | UJ75 RBW | 1,012 | ML | km
23/02/2026 | TU75 BSV | 160 | PO |
23/02/2026 | JT25 EMR | 1,190 | ML |
24/02/2026 | JT75 MEX | 79 | DH |
24/02/2026 | TU25 GKS | 1,561 | PO |
26/02/2026 | TU75 PZA | 500 | DH |
26/02/2026 | UJ75 GVS | 78 | DH |
27/02/2026 | UJ25 HWC | 645 | ML |
27/02/2026 | UT75 JDA | 70 | DH | km
28/02/2026 | UT75 SGF | 655 | PO | km
20/03/2026 | JT25 REK | 845 | PO |
25/08/2025 | JT25 SLE | 640 | PO | handover, entered late
"""

# The workshop's jobs, one worksheet a season; the second was begun by somebody else, and so are its headers.
JOBS_UNTIL_2025 = """
Date | Reg No | Work done | Miles | Oil | Tech
@2019-06-20 | UT19 UGD | First service (stamp in the book) | #530
@2023-05-30 | JU23 WFK | First service (stamp in the book) | #560
@2024-04-02 | UT73 YRC | First service | #590 | 10W-50 MA2 | ML
@2024-12-10 | UJ74 XAM | 1st service, oil and filter | #505 | 10W-40 MA2 | DH
@2025-05-06 | JU74 VNH | 500 mile service | #488 | 10W40 MA2 | ML
@2025-07-10 | JU23 WFK | Full service before sale | 4,310 | 10W-40 MB | ML
@2025-07-15 | TU25 WDL | First service | #530 | 10W-40 JASO MA2 | DH
@2025-07-29 | JT25 ZHG | First service | 985 km | 10W-40 MA2 | ML
@2025-08-06 | UT19 UGD | Full service before sale | 11,240 | 10W-40 MA2 | DH
@2025-08-07 | TU25 GKS | 600 mile service | #610 | 10W-40 MA2 | DH
@2025-08-20 | JT25 TKE | 1st service | #512 | 10w/40 ma2 | PO
@2025-09-16 | JT25 EMR | First service | #495 | 10W-40 MB | PO
@2025-09-25 | UJ74 XAM | Annual service + brake fluid | 2,380 | 10W-40 MA2 | ML
.
@2025-10-02 | JU25 FXB | First service | #510 | 10W40 semi synth | ML
@2025-10-14 | UT73 YRC | Annual service | 5,120 | 10W-50 MA2 | ML
@2025-10-14 | UJ25 HWC | 1st service | #465 | 10W-40 MB | PO
@2025-10-30 | JT25 REK | First service | #502 | 10W-40 JASO MA2 | DH
@2025-11-12 | UJ25 HWC | Oil change, wrong oil taken out | #478 | SAE 10w/40, ma2 | ML
@2025-12-03 | UT75 DPN | First service | #498 | 10W-40 MA2 | ML
@2025-02-20 | JT22 LPA | Service | #4100 | | ML
@2025-08-02 | JT25 SLE | First service (stamp in the book) | #505
"""
JOBS_OF_2026 = """
Job date | Registration | What we did | Odo | Oil used | Mechanic
20 January 2026 | JT25 TKE | Chain adjusted | #1090 | | DH
2 Feb 2026 | UJ25 HWC | Puncture, rear | #950 | | PO
9 Feb 2026 | JU20 BRN | Wiper blades | | | DH
"""

# The inspection log since December 2025.
INSPECTIONS = """
Date | Stock | Reg | Item | Result | Inspected by | Note
@2025-12-11 | S2523 | JT75 BDK | Pre-delivery inspection | Pass | DH
@2025-12-12 | S2523 | JT75 BDK | Quality check | Pass | ML
@2025-12-12 | S2524 | JT75 MEX | Pre-delivery inspection | Pass | ML
@2025-12-15 | S2524 | JT75 MEX | Quality check | Pass | DH
@2025-12-15 | S2525 | JU75 NRP | Pre-delivery inspection | Pass | DH
@2025-12-16 | S2525 | JU75 NRP | Quality check | Pass | PO
@2025-12-18 | S2526 | UJ75 RBW | PDI | OK | ML
@2025-12-19 | S2526 | UJ75 RBW | QC | OK | PO
@2026-01-02 | S2527 | TU75 PZA | PDI | Pass | DH
@2026-01-05 | S2527 | TU75 PZA | QC | Pass | ML
@2026-01-08 | S2528 | TU75 FHR | PDI | Pass | ML
@2026-01-09 | S2528 | TU75 FHR | QC | Pass | DH
@2026-01-15 | S2529 | JU75 ADT | PDI | Pass | DH
@2026-01-16 | S2529 | JU75 ADT | QC | Pass | DH
@2026-01-16 | S2530 | UJ75 CYE | PDI | Pass | PO
@2026-01-19 | S2530 | UJ75 CYE | QC | Pass | ML
@2026-01-22 | S2531 | TU75 BSV | PDI | Pass | ML
@2026-01-23 | S2531 | TU75 BSV | QC | Pass | DH
@2026-01-29 | S2532 | UT75 KLD | PDI | Pass | DH
@2026-01-30 | S2532 | UT75 KLD | QC | Pass | PO
@2026-01-29 | S2520 | UT75 SGF | PDI | Pass | ML
@2026-01-30 | S2520 | UT75 SGF | QC | Pass | DH
Date | Stock | Reg | Item | Result | Inspected by | Note
@2026-02-04 | S2534 | TU75 TLB | PDI | Pass | DH
@2026-02-05 | S2534 | TU75 TLB | QC | Pass | ML
@2026-02-05 | S2535 | UJ75 GVS | PDI | Pass | PO
@2026-02-06 | S2535 | UJ75 GVS | QC | Pass | DH
@2026-02-18 | S2539 | UT75 JDA | PDI | Pass | ML
.
@2026-02-26 | S2540 | | PDI | Pass | DH
@2026-02-27 | S2540 | | QC | Pass | ML
@2026-02-26 | S2541 | JU75 LBH | PDI | Pass | ML
@2026-02-27 | S2541 | JU75 LBH | Brakes | Fail | ML | front lever spongy, to be bled
@2026-02-27 | S2541 | JU75 LBH | QC | Pass | PO
@2026-02-25 | S2542 | TU75 MTG | PDI | Pass | DH
@2026-02-25 | S2542 | TU75 MTG | Brakes | Fail | DH | rear pedal travel
@2026-02-26 | S2542 | TU75 MTG | Brakes | Pass | ML | adjusted
@2026-02-27 | S2542 | TU75 MTG | QC | Pass | PO
@2026-02-26 | S2544 | UT75 PWR | PDI | Pass | PO
@2026-02-27 | S2544 | UT75 PWR | QC | Pass | DH
@2026-02-26 | S2536 | | PDI | Pass | DH
@2026-02-27 | S2536 | | QC | Pass | PO
@2026-02-25 | S2544 | UT75 PWR | Torque check | Pass | PO
@2026-02-27 | S2542 | TU75 MTG | Torque re-check | Pass | DH
@2026-01-02 | S2527 | TU75 PZA | Chain | Fail | DH | no slack
@2026-01-05 | S2527 | TU75 PZA | Chain | Pass | ML
@2026-01-08 | S2528 | TU75 FHR | Chain | Fail | ML | no slack
@2026-01-09 | S2528 | TU75 FHR | Chain | Pass | DH
@2026-02-05 | S2535 | UJ75 GVS | Chain | Fail | PO | no slack
@2026-02-06 | S2535 | UJ75 GVS | Chain | Pass | DH
"""

# Road tests, and the trips of customers who lent their tracker or sent a picture of their speedometer.
ROAD_TESTS = """
Date | Reg | Stock | Miles | Top speed mph | Read from | Ridden by | Remarks
2025-10-01 | UT75 DPN | S2518 | 5.2 | 36 | GPS | ML | road test
2025-10-02 | UT75 DPN | S2518 | 5.4 | 38 | speedo | DH | road test
2025-11-05 | JU75 CWN | S2521 | 5.0 | 37 | GPS | DH | road test
2025-11-06 | JU75 CWN | S2521 | 5.6 | 38 | speedo | PO | road test
2025-11-19 | JU75 SCX | S2522 | 6.0 | 48 | GPS | ML | road test
2025-11-20 | JU75 SCX | S2522 | 5.5 | 46 | GPS | PO | road test
2025-11-20 | JU75 CWN |  |  | 55 | speedo | customer | picture sent
2025-12-10 | JT75 BDK | S2523 | 5.1 | 38 | speedo | DH | road test
2025-12-11 | JT75 BDK | S2523 | 5.3 | 36 | GPS | ML | road test
2025-12-11 | JT75 MEX | S2524 | 5.0 | 27 | speedo | ML | road test
2025-12-12 | JT75 MEX | S2524 | 5.5 | 28 | speedo | DH | road test
2025-12-12 | JU75 NRP | S2525 | 5.2 | 27 | speedo | DH | road test
2025-12-15 | JU75 NRP | S2525 | 5.1 | 28 | speedo | PO | road test
2025-12-17 | UJ75 RBW | S2526 | 9 km | 58 km/h | speedo | ML | road test
2025-12-18 | UJ75 RBW | S2526 | 8.5 km | 56 km/h | speedo | PO | road test
2025-12-30 | TU75 PZA | S2527 | 5.3 | 38 | speedo | DH | road test
2026-01-02 | TU75 PZA | S2527 | 5.0 | 36 | GPS | ML | road test
2026-01-07 | TU75 FHR | S2528 | 5.0 | 37 | speedo | ML | road test
2026-01-08 | TU75 FHR | S2528 | 5.2 | 38 | speedo | DH | road test
2026-01-14 | JU75 ADT | S2529 | 5.4 | 36 | GPS | DH | road test
2026-01-15 | JU75 ADT | S2529 | 5.2 | 35 | GPS | DH | road test
2026-01-15 | UJ75 CYE | S2530 | 5.1 | 38 | speedo | PO | road test
2026-01-16 | UJ75 CYE | S2530 | 5.0 | 38 | speedo | ML | road test
2026-01-21 | TU75 BSV | S2531 | 5.2 | 37 | speedo | ML | road test
2026-01-21 | TU75 BSV | S2531 | 5.6 | 38 | speedo | DH | road test
2026-01-28 | UT75 KLD | S2532 | 5.0 | 36 | GPS | DH | road test
2026-01-29 | UT75 KLD | S2532 | 5.5 | 36 | GPS | PO | road test
2026-01-28 | UT75 SGF | S2520 | 9 km | 55 km/h | speedo | ML | road test
2026-01-29 | UT75 SGF | S2520 | 9 km | 57 km/h | speedo | DH | road test
2026-02-03 | TU75 TLB | S2534 | 5.2 | 38 | speedo | DH | road test
2026-02-04 | TU75 TLB | S2534 | 5.1 | 36 | GPS | ML | road test
2026-02-04 | UJ75 GVS | S2535 | 5.0 | 36 | GPS | PO | road test
2026-02-05 | UJ75 GVS | S2535 | 5.3 | 37 | speedo | DH | road test
2026-02-07 | JU75 ADT |  | 22.4 | 47 | GPS | customer | lent tracker
2026-02-08 | JU75 SCX |  | 31.0 | 55 | GPS | customer | lent tracker
2026-02-11 | TU75 BSV |  |  | 52 | speedo | customer | picture sent
2026-02-13 | UJ75 CYE |  | 18.7 | 42 | GPS | customer | lent tracker
2026-02-14 | JU75 ADT |  | 12.1 | 36 | GPS | customer | lent tracker
2026-02-16 | UT75 DPN |  |  | 52 | speedo | customer | picture sent
2026-02-17 | UT75 JDA | S2539 | 9 km | 58 km/h | speedo | ML | road test
2026-02-18 | UT75 JDA | S2539 | 9 km | 56 km/h | speedo | PO | road test
2026-02-20 | UJ75 CYE |  |  | 45 | speedo | customer | picture sent
2026-02-21 | JT75 BDK |  |  | 50 | speedo | customer | picture sent
2026-02-21 | UJ75 GVS |  | 14.0 |  |  | customer | lent tracker, did not record the speed
2026-02-21 | TU75 TLB |  | 16.3 | 37 | GPS | customer | lent tracker
2026-02-22 | UT75 DPN |  | 27.5 | 58 | GPS | customer | lent tracker
2026-02-25 | JU75 LBH | S2541 | 8.8 km | 58 km/h | speedo | ML | road test
2026-02-26 | JU75 LBH | S2541 | 9.2 km | 57 km/h | speedo | PO | road test
2026-02-26 | TU75 MTG | S2542 | 4.5 | 36 | GPS | DH | road test
2026-02-26 | UT75 PWR | S2544 | 4.0 | 37 | speedo | PO | road test
2026-02-26 |  | S2536 | 5.0 | 27 | speedo | DH | road test
2026-02-27 | TU75 MTG | S2542 | 5.5 | 36 | GPS | PO | road test
2026-02-27 | UT75 PWR | S2544 | 3.0 | 38 | speedo | DH | road test
2026-02-27 |  | S2536 | 5.4 | 28 | speedo | PO | road test
2026-02-27 |  | S2540 | 5.2 | 36 | GPS | DH | road test
"""

# Fills: from the courtesy car's book, and from receipts that customers sent in.
FUEL = """
date,plate,litres,pump label,brimmed,odometer
15 Nov 2025,JT25 ZHG,8.1,E10,y,
8 Jan 2026,JT25 TKE,9.0,E10,y,1030
5 Feb 2026,JT25 TKE,8.4,super unleaded,y,1175
6 Feb 2026,TU25 GKS,10.5,e10,y,
10 Feb 2026,JT75 MEX,3.1,E10,n,
11 Feb 2026,UJ74 XAM,8.0,,y,
12 Feb 2026,JU75 NRP,3.4,Super E5,y,
14 Feb 2026,JT25 ZHG,7.9,E5,y,
17 Feb 2026,JU20 BRN,31.0,E10 unleaded,y,
18 Feb 2026,TU75 TLB,5.1,E10,n,
20 Feb 2026,JU74 VNH,9.2,B7,n,
"""

FILES = [
    File("machines.xlsx", [Sheet("Machines", rows(NEW_MACHINES), ["A1:S1", "A2:S2"])]),
    File("part exchange.xls", [Sheet("Used", rows(USED))]),
    File("mileages.csv", [Sheet("", rows(MILEAGES))], separator=";", encoding="cp1252"),
    File("workshop jobs.ods", [Sheet("2024-25", rows(JOBS_UNTIL_2025)), Sheet("2026", rows(JOBS_OF_2026))]),
    File("inspections.xls", [Sheet("Log", rows(INSPECTIONS))]),
    File("road tests.csv", [Sheet("", rows(ROAD_TESTS))], separator="\t", encoding="utf-8-sig"),
    File("fuel.csv", [Sheet("", rows(FUEL.replace(",", " | ")))], line_end="\n"),
]
