"""Airflow and power physics. Numbers in, numbers out, SI inside.

The one exception to SI: crank, cam and blade angles are in degrees, as in every source.

Nomenclature
------------
Every number that a public function asks for: its name in signatures, the symbol that the
sources use, its unit, and the files it is found in. A test reads this table; "none" means
that sources spell the quantity out.

name | symbol | unit | where used
air_density | ρ | kg m⁻³ | power
air_fuel_ratio | A/F | - | power
amounts | n | mol kg⁻¹ | species
amplitude | X | - | waves
angle_from_nose | θ | deg | cams
angular_speed | ω | rad s⁻¹ | curve, cycle, friction, geometry, plant, power, study, surface
angular_speeds | ω | rad s⁻¹ | curve
area | A | m² | flow
blade_angle | ψ | deg | throttle
bore | B, D | m | geometry, heat, throttle
burn_progress | y | - | heat
burned_fraction | x | - | heat
centre | none | - | surface
checking_height | h | m | cams
closed_angle | ψ₀ | deg | throttle
column_mach | M | - | waves
compression_ratio | r | - | equilibrium, geometry, otto, tuning
count | n | - | design
crank_angle | θ | deg | geometry, valves
cylinder_volume | V₁ | m³ | tuning
density | ρ | kg m⁻³ | equilibrium, gas, species
density_ratio | none | - | equilibrium
depression | Δp | Pa | bench
diameter | d | m | geometry
discharge_coefficient | C_D | - | flow
displacement | V_d | m³ | geometry, heat, power, tuning
downstream_pressure | p | Pa | flow
duration_at_1_27_mm | 2θ_y | deg | cams
duty | none | - | power
each | none | - | study
effective_area | C_D A | m² | bench, series, valves
effective_areas | C_D A | m² | series
elements | b | mol kg⁻¹ | equilibrium
energy | u | J kg⁻¹ | equilibrium, gas
engines | n | - | study
enthalpy | h | J kg⁻¹ | equilibrium
entropy | s | J kg⁻¹ K⁻¹ | equilibrium
even | none | SI | design
exhaust_duration | D_e | deg | cams
fastest | ω | rad s⁻¹ | design
final_fraction | x | - | heat
flow_multiplier | none | - | plant
found | y | - | study, surface
frequency | f | Hz | tuning
fuel_conversion_efficiency | η_f | - | power
gamma | γ | - | flow, otto, series, valves, waves
gas_constant | R | J kg⁻¹ K⁻¹ | flow, otto, series
gas_velocity | w | m s⁻¹ | heat
heat_added | q | J kg⁻¹ | otto
heating_value | Q | J kg⁻¹ | power
high | none | as `low` | inputs
indicated_power_ratio | k | - | corrections
initial_pressure | p₁ | Pa | otto
initial_temperature | T₁ | K | otto
injector_count | none | - | power
injector_pressure | Δp | Pa | power
inlet_inertance | I₂ | m⁻¹ | tuning
intake_centreline | ICL | deg | cams
intake_closing | IVC | deg | geometry
intake_duration | D_i | deg | cams
intake_pressure_ratio | p_i/p_a | - | friction
isochoric_heat_capacity | c_v | J kg⁻¹ K⁻¹ | otto
lash | none | m | cams
lift | L | m | bench
lobe_lift | ℓ_max | m | cams
lobe_separation | LSA | cam deg | cams
low | none | any | inputs
mach | M | - | flow
mach_index | Z | - | valves
mass_flow | ṁ | kg s⁻¹ | series
mean_flow_coefficient | C̄_i | - | valves
mean_piston_speed | s̄ | m s⁻¹ | heat, valves
measured_depression | Δp | Pa | bench
mechanical_efficiency | η_m | - | corrections
open_duration | Δθ | deg | valves
order | q | - | tuning
others | none | SI | design
parts | none | mol; kg | species
pipe_area | A | m² | tuning
pipe_length | L | m | tuning
pipe_radius | r | m | tuning
piston_area | A_p | m² | valves
plenum_volume | V₂ | m³ | tuning
power | P | W | power
pressure | p | Pa | corrections, equilibrium, flow, heat, power
pressure_ratio | r | - | curve, flow, waves
pressure_rise | p − p_m | Pa | heat
rated_flow | ṁ | kg s⁻¹ | power
rated_pressure | Δp | Pa | power
reference_pressure | p_r | Pa | heat
reference_temperature | T_r | K | heat
reference_volume | V_r | m³ | heat
refinement | none | - | cycle, pipes
relative_humidity | φ | - | corrections
resonator_volume | V | m³ | tuning
response | y | - | surface
return_angle | θ_t | deg | tuning
rocker_ratio | none | - | cams
rod_length | l | m | geometry
rod_ratio | λ | - | geometry
room_pressure | p₀ | Pa | bench
room_temperature | T₀ | K | bench
row | x | SI | design, parameters
rows | x | SI | design, features, study, surface
runner_area | A | m² | tuning
runner_inertance | I₁ | m⁻¹ | tuning
runner_length | L | m | tuning
scale | none | - | surface
seat_checking_height | h_s | m | cams
seat_duration | 2θ_s | deg | cams
shaft | d | m | throttle
share | none | - | design
slowest | ω | rad s⁻¹ | design
sound_speed | a | m s⁻¹ | tuning, valves, waves
specific_fuel_consumption | sfc | kg J⁻¹ | power
speed_ratio | K | - | tuning
steps | none | - | plant
stroke | S | m | geometry
temperature | T | K | corrections, equilibrium, flow, fuels, gas, heat, species
temperatures | T | K | pipes
torque | T | N m | power
track_angle | θ | deg | plant
upstream_pressure | p₀ | Pa | flow, series
upstream_temperature | T₀ | K | flow, series
value | none | any | inputs
valve_area | A_v | m² | valves
valve_diameter | D | m | bench
vapour_pressure | p_v | Pa | corrections
volume_flow | V̇ | m³ s⁻¹ | bench, power
volumetric_efficiency | η_v | - | power
wanted_depression | Δp | Pa | bench
wiebe_efficiency | a | - | heat
wiebe_form | m | - | heat
"""  # noqa: RUF002 - symbols are those of the sources, Greek and other
